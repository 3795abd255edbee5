import { failure, type Result, success } from "../../model/result.ts";
import { LIMITS } from "../limits.ts";

export interface NpyHeader {
  /** Element type: "<i4" in numpy's notation. */
  readonly descr: string;
  readonly fortranOrder: boolean;
  readonly shape: readonly number[];
  /** Where the values start. */
  readonly dataOffset: number;
}

const MAGIC = [0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59];

export function hasNpyMagic(head: Uint8Array): boolean {
  return MAGIC.every((byte, i) => head[i] === byte);
}

/**
 * Reads the header of an NPY file, versions 1.0 to 3.0 (numpy.lib.format). The Python literal in it is read by a small
 * grammar and never evaluated.
 *
 * @param head the first bytes of the file, 64 KiB + 12 or all there are
 */
export function readNpyHeader(head: Uint8Array, file: string): Result<NpyHeader> {
  if (!hasNpyMagic(head)) return failure("unreadable", `${file} does not start like NPY`, { file });
  if (head.length < 10) return cutOff(file, head.length, 10);
  const major = head[6]!;
  if (major < 1 || major > 3)
    return failure("unsupported", `${file} is NPY version ${major}.${head[7]}; versions 1 to 3 are read`, { file });
  const lengthBytes = major === 1 ? 2 : 4;
  const start = 8 + lengthBytes;
  if (head.length < start) return cutOff(file, head.length, start);
  let length = 0;
  for (let i = lengthBytes - 1; i >= 0; i--) length = length * 256 + head[8 + i]!;
  if (length > LIMITS.npyHeaderBytes)
    return failure(
      "out-of-range",
      `${file} declares a header of ${length} bytes; the limit is ${LIMITS.npyHeaderBytes}`,
      { file },
    );
  if (head.length < start + length) return cutOff(file, head.length, start + length);
  const text = new TextDecoder(major === 3 ? "utf-8" : "latin1").decode(head.subarray(start, start + length));
  const header = parseHeader(text, file);
  return header.ok ? success({ ...header.value, dataOffset: start + length }) : header;
}

function cutOff(file: string, size: number, wanted: number): ReturnType<typeof failure> {
  return failure("incomplete", `${file} ends at byte ${size}; its NPY header needs ${wanted}`, { file });
}

const PAIR =
  /^\s*(['"])(descr|fortran_order|shape)\1\s*:\s*(?:(['"])([^'"\\]{1,64})\3|(True|False)|\(\s*((?:\d{1,19}L?\s*,\s*)*(?:\d{1,19}L?)?)\s*\))\s*(,|$)/;

function parseHeader(text: string, file: string): Result<Omit<NpyHeader, "dataOffset">> {
  const literal = /^\s*\{([\s\S]*)\}\s*$/.exec(text)?.[1];
  let rest = literal ?? "";
  const found: { descr?: string; fortranOrder?: boolean; shape?: number[] } = {};
  while (rest.trim() !== "") {
    const pair = PAIR.exec(rest);
    if (pair === null) {
      const odd = /^\s*['"]descr['"]\s*:\s*\[/.test(rest);
      if (odd)
        return failure("unsupported", `${file} holds a table of several columns (structured dtype), not one array`, {
          file,
        });
      return failure("unreadable", `${file}: the NPY header can't be read at "${rest.trim().slice(0, 40)}"`, { file });
    }
    const [whole, , key, , word, flag, tuple] = pair;
    if (key === "descr" && word !== undefined) found.descr = word;
    else if (key === "fortran_order" && flag !== undefined) found.fortranOrder = flag === "True";
    else if (key === "shape" && tuple !== undefined)
      found.shape = tuple.split(",").flatMap((n) => (n.trim() === "" ? [] : [Number(n.trim().replace(/L$/, ""))]));
    else return failure("unreadable", `${file}: "${key}" of the NPY header has a value of the wrong kind`, { file });
    rest = rest.slice(whole.length);
  }
  const { descr, fortranOrder, shape } = found;
  if (descr === undefined || fortranOrder === undefined || shape === undefined)
    return failure("unreadable", `${file}: the NPY header lacks descr, fortran_order or shape`, { file });
  return success({ descr, fortranOrder, shape });
}
