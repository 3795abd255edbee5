import type { PixelArray } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { checkFrameSize, LIMITS } from "../limits.ts";
import { bytesOf, decodeRaw, type ValueType } from "../raw-values.ts";
import type { ByteSource } from "../reader.ts";
import { type NpyHeader, readNpyHeader } from "./npy-header.ts";

const HEAD_BYTES = LIMITS.npyHeaderBytes + 12;

/** An NPY array whose header was checked against the bytes that are there; the values are still in the file. */
export interface NpyArray {
  readonly shape: readonly number[];
  readonly type: ValueType | "boolean";
  readonly warnings: readonly string[];
  /** Values of one frame of a stack, or of the whole array (index 0), in row-major order. */
  readFrame(index: number): Promise<Result<PixelArray>>;
}

/** Opens an array of rank 1, 2 or 3. @see numpy.lib.format, "NPY format" */
export async function openNpyArray(source: ByteSource): Promise<Result<NpyArray>> {
  const header = readNpyHeader(await source.read(0, Math.min(HEAD_BYTES, source.size)), source.name);
  if (!header.ok) return header;
  const { descr, shape, dataOffset } = header.value;
  const type = elementType(descr);
  if (typeof type === "string") return failure("unsupported", `${source.name}: ${type}`, { file: source.name });
  if (shape.length < 1 || shape.length > 3)
    return failure("unsupported", `${source.name} has rank ${shape.length}; arrays of rank 1 to 3 are read`, {
      file: source.name,
    });
  const [frames, height, width] = [...[1, 1, 1].slice(shape.length), ...shape] as [number, number, number];
  const size = checkFrameSize(source.name, width, height);
  if (!size.ok) return failure(size.fault.code, size.fault.message, { file: source.name });
  if (!(Number.isSafeInteger(frames) && frames >= 1))
    return failure("inconsistent", `${source.name} has a dimension of length 0 (${shape.join(" x ")})`, {
      file: source.name,
    });
  const elementBytes = bytesOf(type.stored);
  const declared = frames * height * width * elementBytes;
  const present = source.size - dataOffset;
  if (declared > present)
    return failure(
      "incomplete",
      `${source.name} declares ${declared} bytes of values (${shape.join(" x ")} of ${descr}) but holds ${present}`,
      {
        file: source.name,
      },
    );
  const warnings = declared < present ? [`${present - declared} bytes after the values are ignored`] : [];
  return success({
    shape,
    type: type.isBoolean ? "boolean" : type.stored,
    warnings,
    readFrame: (index) => readFrame(source, header.value, type, { frames, height, width, index }),
  });
}

interface ElementType {
  readonly stored: ValueType;
  readonly littleEndian: boolean;
  readonly isBoolean: boolean;
}

/** The element type, or in words why it can't be read. */
function elementType(descr: string): ElementType | string {
  const match = /^([<>=|]?)([a-zA-Z])(\d+)?$/.exec(descr);
  const [, order, letter, digits] = match ?? [];
  const littleEndian = order !== ">";
  const name = { b: "uint", i: "int", u: "uint", f: "float" }[letter ?? ""];
  const bits = Number(digits) * 8;
  if (letter === "O") return `object arrays are not read ("${descr}": their bytes are a program)`;
  if (letter === "c") return `complex numbers are not read ("${descr}")`;
  const known =
    letter === "b" ? bits === 8 : letter === "f" ? [16, 32, 64].includes(bits) : [8, 16, 32, 64].includes(bits);
  if (name === undefined || !known) return `elements of type "${descr}" are not read`;
  return { stored: `${name}${bits}` as ValueType, littleEndian, isBoolean: letter === "b" };
}

interface FramePlace {
  readonly frames: number;
  readonly height: number;
  readonly width: number;
  readonly index: number;
}

async function readFrame(
  source: ByteSource,
  header: NpyHeader,
  type: ElementType,
  place: FramePlace,
): Promise<Result<PixelArray>> {
  const { frames, height, width, index } = place;
  const elementBytes = bytesOf(type.stored);
  const pixels = height * width;
  if (!header.fortranOrder || header.shape.length === 1) {
    const start = header.dataOffset + index * pixels * elementBytes;
    return decodeRaw(
      await source.read(start, start + pixels * elementBytes),
      type.stored,
      type.littleEndian,
      source.name,
    );
  }
  // Column by column: the first index runs fastest, so a frame of a stack lies scattered over the whole file.
  const all = frames * pixels;
  if (all > LIMITS.framePixels)
    return failure(
      "out-of-range",
      `${source.name} is a stack in Fortran order of ${all} values; the limit is ${LIMITS.framePixels}`,
      {
        file: source.name,
      },
    );
  const start = header.dataOffset;
  const raw = decodeRaw(
    await source.read(start, start + all * elementBytes),
    type.stored,
    type.littleEndian,
    source.name,
  );
  if (!raw.ok) return raw;
  const out = raw.value.slice(0, pixels);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) out[y * width + x] = raw.value[index + frames * (y + height * x)]!;
  return success(out);
}
