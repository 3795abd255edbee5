import { failure, type Result, success } from "../../model/result.ts";

/** One binary section: its MIME fields (names in lower case) and its bytes as they stand in the file. */
export interface BinarySection {
  readonly fields: ReadonlyMap<string, string>;
  readonly bytes: Uint8Array;
}

export interface CbfParts {
  /** The text around the binary sections. */
  readonly text: string;
  readonly sections: readonly BinarySection[];
}

const BOUNDARY = "--CIF-BINARY-FORMAT-SECTION--";
const MARKER = [0x0c, 0x1a, 0x04, 0xd5];
const LONGEST_HEADER = 65_536;

/** Splits a CBF or imgCIF file into text and binary sections (International Tables for Crystallography, vol. G, 2.3). */
export function splitSections(bytes: Uint8Array, file: string): Result<CbfParts> {
  const boundary = new TextEncoder().encode(BOUNDARY);
  const latin1 = new TextDecoder("latin1");
  const sections: BinarySection[] = [];
  let text = "";
  let at = 0;
  for (;;) {
    const found = indexOf(bytes, boundary, at);
    if (found < 0) break;
    text += latin1.decode(bytes.subarray(at, found));
    const start = found + boundary.length;
    const header = latin1.decode(bytes.subarray(start, Math.min(start + LONGEST_HEADER, bytes.length)));
    const blank = /\r?\n[ \t]*\r?\n/.exec(header);
    if (blank === null)
      return failure("unreadable", `${file}: the header of binary section ${sections.length + 1} has no end`, { file });
    const fields = mimeFields(header.slice(0, blank.index));
    const bodyStart = start + blank.index + blank[0].length;
    const body = sectionBody(bytes, bodyStart, fields, `${file}, binary section ${sections.length + 1}`, boundary);
    if (!body.ok) return body;
    sections.push({ fields, bytes: body.value });
    const closing = indexOf(bytes, boundary, body.value.byteOffset - bytes.byteOffset + body.value.length);
    at = closing < 0 ? bytes.length : closing + boundary.length + 2;
  }
  text += latin1.decode(bytes.subarray(Math.min(at, bytes.length)));
  if (sections.length === 0) return failure("missing", `${file} holds no binary section with pixels`, { file });
  return success({ text, sections });
}

function sectionBody(
  bytes: Uint8Array,
  start: number,
  fields: ReadonlyMap<string, string>,
  place: string,
  boundary: Uint8Array,
): Result<Uint8Array> {
  const size = Number(fields.get("x-binary-size"));
  if (!(Number.isSafeInteger(size) && size >= 0))
    return failure("unreadable", `${place}: X-Binary-Size is ${fields.get("x-binary-size") ?? "missing"}`, {
      field: place,
    });
  const encoding = (fields.get("content-transfer-encoding") ?? "binary").toLowerCase();
  if (encoding === "binary") {
    if (!MARKER.every((byte, i) => bytes[start + i] === byte))
      return failure("unreadable", `${place}: the bytes 0c 1a 04 d5 before the data are missing at byte ${start}`, {
        field: place,
      });
    const first = start + MARKER.length;
    if (!(first + size <= bytes.length))
      return failure(
        "incomplete",
        `${place} declares ${size} bytes but the file holds ${bytes.length - first} after byte ${first}`,
        {
          field: place,
        },
      );
    return success(bytes.subarray(first, first + size));
  }
  if (encoding !== "base64")
    return failure("unsupported", `${place}: transfer encoding "${encoding}" is not read`, { field: place });
  const end = indexOf(bytes, boundary, start);
  const decoded = decodeBase64(bytes.subarray(start, end < 0 ? bytes.length : end));
  if (decoded === undefined) return failure("unreadable", `${place}: its BASE64 text is damaged`, { field: place });
  if (decoded.length !== size)
    return failure("unreadable", `${place} declares ${size} bytes; its BASE64 text holds ${decoded.length}`, {
      field: place,
    });
  return success(decoded);
}

/** Field names fold case; a line that starts with a blank continues the one before. */
function mimeFields(header: string): ReadonlyMap<string, string> {
  const fields = new Map<string, string>();
  for (const line of header.replace(/\r?\n[ \t]+/g, " ").split(/\r?\n/)) {
    const match = /^([A-Za-z0-9-]+)\s*:\s*(.*)$/.exec(line.trim());
    if (match !== null) fields.set(match[1]!.toLowerCase(), match[2]!.trim());
  }
  return fields;
}

function indexOf(bytes: Uint8Array, pattern: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(pattern[0]!, from); at >= 0; at = bytes.indexOf(pattern[0]!, at + 1)) {
    let i = 1;
    while (i < pattern.length && bytes[at + i] === pattern[i]) i++;
    if (i === pattern.length) return at;
  }
  return -1;
}

const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
const DIGITS = new Int8Array(128).fill(-1);
for (let i = 0; i < ALPHABET.length; i++) DIGITS[ALPHABET.charCodeAt(i)] = i;

/** RFC 4648 with line ends; undefined where another character stands in it. */
export function decodeBase64(text: Uint8Array): Uint8Array | undefined {
  const out = new Uint8Array(Math.ceil((text.length * 3) / 4));
  let size = 0;
  let bits = 0;
  let held = 0;
  for (const byte of text) {
    if (byte === 0x3d || byte === 0x0a || byte === 0x0d || byte === 0x20) continue;
    const digit = byte < 128 ? DIGITS[byte]! : -1;
    if (digit < 0) return undefined;
    bits = ((bits << 6) | digit) & 0xffffff;
    held += 6;
    if (held >= 8) {
      held -= 8;
      out[size++] = (bits >> held) & 0xff;
    }
  }
  return out.subarray(0, size);
}

export function encodeBase64(bytes: Uint8Array): string {
  let text = "";
  for (let at = 0; at < bytes.length; at += 3) {
    const word = (bytes[at]! << 16) | ((bytes[at + 1] ?? 0) << 8) | (bytes[at + 2] ?? 0);
    const digits = [word >> 18, (word >> 12) & 63, (word >> 6) & 63, word & 63].map((digit) => ALPHABET[digit]!);
    const left = bytes.length - at;
    text +=
      left >= 3
        ? digits.join("")
        : digits
            .slice(0, left + 1)
            .join("")
            .padEnd(4, "=");
  }
  return text;
}
