import { md5 } from "@noble/hashes/legacy.js";
import type { PixelArray } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { checkFrameSize, LIMITS } from "../limits.ts";
import { plainRun } from "../plain-run.ts";
import { bytesOf, decodeRaw, type ValueType } from "../raw-values.ts";
import type { FormatReader } from "../reader.ts";
import { decodeByteOffset } from "./byte-offset.ts";
import { readCbfHeader } from "./cbf-header.ts";
import { type BinarySection, encodeBase64, splitSections } from "./sections.ts";

/** CBF and imgCIF with pixels packed by byte offsets, or not packed. */
export const cbfReader: FormatReader = {
  id: "cbf",
  title: "CBF/imgCIF",
  choices: [],
  sniff(head) {
    const text = new TextDecoder("latin1").decode(head);
    return text.startsWith("###CBF:") || (/^\s*(#[^\n]*\n\s*)*data_/.test(text) && text.includes("_array_data"))
      ? "yes"
      : "no";
  },
  async open(source, context) {
    const file = source.name;
    if (source.size > LIMITS.archiveEntryBytes)
      return failure("out-of-range", `${file} has ${source.size} bytes; the limit is ${LIMITS.archiveEntryBytes}`, {
        file,
      });
    const parts = splitSections(await source.read(0, source.size), file);
    if (!parts.ok) return parts;
    const pictures: Picture[] = [];
    for (const [index, section] of parts.value.sections.entries()) {
      const picture = pictureOf(section, parts.value.text, `${file}, binary section ${index + 1}`);
      if (!picture.ok) return picture;
      pictures.push(picture.value);
    }
    const first = pictures[0]!;
    const stack = pictures.filter(
      ({ width, height, type }) => width === first.width && height === first.height && type === first.type,
    );
    const header = readCbfHeader(parts.value.text);
    return success(
      plainRun({
        name: file,
        format: "cbf",
        formatTitle: "CBF/imgCIF",
        bankName: "array",
        path: stack.length > 1 ? `binary sections 1 to ${stack.length}` : "binary section 1",
        width: first.width,
        height: first.height,
        frames: stack.length,
        counting: !first.type.startsWith("float"),
        rowOrder: "top-down",
        transpose: false,
        choice: context.choice,
        metadata: header.metadata,
        saturation: header.saturation,
        notes: [
          "the first row is taken as the top one: assumed",
          ...(stack.length < pictures.length
            ? [`${pictures.length - stack.length} sections of another size or type are left out`]
            : []),
          ...header.notes,
        ],
        warnings: stack.flatMap(({ warning }) => (warning === undefined ? [] : [warning])),
        readPixels: async (index) => decode(stack[index]!),
      }),
    );
  },
};

interface Picture {
  readonly width: number;
  readonly height: number;
  readonly type: ValueType;
  readonly littleEndian: boolean;
  readonly isByteOffset: boolean;
  readonly bytes: Uint8Array;
  readonly place: string;
  readonly warning: string | undefined;
}

const TYPES: Readonly<Record<string, ValueType>> = {
  "signed 8-bit integer": "int8",
  "unsigned 8-bit integer": "uint8",
  "signed 16-bit integer": "int16",
  "unsigned 16-bit integer": "uint16",
  "signed 32-bit integer": "int32",
  "unsigned 32-bit integer": "uint32",
  "signed 32-bit real ieee": "float32",
  "signed 64-bit real ieee": "float64",
};

function pictureOf({ fields, bytes }: BinarySection, text: string, place: string): Result<Picture> {
  const typeName = (fields.get("x-binary-element-type") ?? "").replace(/"/g, "").trim().toLowerCase();
  const type = TYPES[typeName];
  if (type === undefined)
    return failure("unsupported", `${place}: elements of type "${typeName}" are not read`, { field: place });
  const conversion =
    /conversions\s*=\s*"?([\w-]+)"?/i.exec(fields.get("content-type") ?? "")?.[1]?.toLowerCase() ?? "none";
  if (conversion !== "none" && conversion !== "x-cbf_none" && conversion !== "x-cbf_byte_offset")
    return failure("unsupported", `${place} is packed as ${conversion}, which is not read`, { field: place });
  const width = dimension(fields, "x-binary-size-fastest-dimension", text, 1);
  const height = dimension(fields, "x-binary-size-second-dimension", text, 2);
  const size = checkFrameSize(place, width, height);
  if (!size.ok) return size;
  const isByteOffset = conversion === "x-cbf_byte_offset";
  if (isByteOffset && type.startsWith("float"))
    return failure("inconsistent", `${place}: byte offsets go with integers, not with ${type}`, { field: place });
  // Every element takes a byte at least, so a small section can't ask for a large frame.
  const least = width * height * (isByteOffset ? 1 : bytesOf(type));
  if (bytes.length < least)
    return failure("unreadable", `${place} declares ${width} x ${height} pixels but holds ${bytes.length} bytes`, {
      field: place,
    });
  const order = (fields.get("x-binary-element-byte-order") ?? "LITTLE_ENDIAN").toUpperCase();
  return success({
    width,
    height,
    type,
    littleEndian: order !== "BIG_ENDIAN",
    isByteOffset,
    bytes,
    place,
    warning: digestWarning(fields.get("content-md5"), bytes, place),
  });
}

/** A dimension from the section's own header, else by its precedence in _array_structure_list (1 is the fastest). */
function dimension(fields: ReadonlyMap<string, string>, name: string, text: string, precedence: number): number {
  const own = fields.get(name);
  if (own !== undefined) return /^\d{1,15}$/.test(own) ? Number(own) : Number.NaN;
  const loop = /loop_\s+((?:_array_structure_list\.\w+\s+)+)((?:[^\n_#;]*\n)+)/.exec(text);
  const columns = loop?.[1]?.trim().split(/\s+/) ?? [];
  const rows =
    loop?.[2]
      ?.trim()
      .split(/\r?\n/)
      .map((row) => row.trim().split(/\s+/)) ?? [];
  const at = (column: string) => columns.indexOf(`_array_structure_list.${column}`);
  const row = rows.find((cells) => Number(cells[at("precedence")]) === precedence);
  return Number(row?.[at("dimension")]);
}

function digestWarning(wanted: string | undefined, bytes: Uint8Array, place: string): string | undefined {
  if (wanted === undefined || wanted === "") return undefined;
  const found = encodeBase64(md5(bytes));
  return found === wanted
    ? undefined
    : `${place}: the MD5 digest is ${found}, the header says ${wanted}: the pixels may be damaged`;
}

function decode(picture: Picture): Result<PixelArray> {
  const { bytes, type, place, littleEndian } = picture;
  const n = picture.width * picture.height;
  if (!picture.isByteOffset) return decodeRaw(bytes.slice(0, n * bytesOf(type)), type, littleEndian, place);
  switch (type) {
    case "int8":
      return decodeByteOffset(bytes, new Int8Array(n), place);
    case "uint8":
      return decodeByteOffset(bytes, new Uint8Array(n), place);
    case "int16":
      return decodeByteOffset(bytes, new Int16Array(n), place);
    case "uint16":
      return decodeByteOffset(bytes, new Uint16Array(n), place);
    case "uint32":
      return decodeByteOffset(bytes, new Uint32Array(n), place);
    default:
      return decodeByteOffset(bytes, new Int32Array(n), place);
  }
}
