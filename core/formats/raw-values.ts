import type { PixelArray } from "../model/frame.ts";
import type { Result } from "../model/result.ts";
import { success } from "../model/result.ts";
import { decodeHalves, wholeNumbers } from "./hdf5/decode-values.ts";

/** Element types of raw binary arrays. */
export type ValueType =
  | "uint8"
  | "int8"
  | "uint16"
  | "int16"
  | "uint32"
  | "int32"
  | "uint64"
  | "int64"
  | "float16"
  | "float32"
  | "float64";

export function bytesOf(type: ValueType): number {
  return Number(/\d+$/.exec(type)![0]) / 8;
}

/**
 * Numbers from raw bytes in either order; 64-bit integers as exact float64, or a fault that names the element.
 *
 * @param bytes owned by the callee, which may swap it in place; its offset in its buffer must be 0
 */
export function decodeRaw(
  bytes: Uint8Array<ArrayBuffer>,
  type: ValueType,
  littleEndian: boolean,
  place: string,
): Result<PixelArray> {
  const size = bytesOf(type);
  if (bytes.byteOffset !== 0 || bytes.length % size !== 0)
    throw new RangeError(`${bytes.length} bytes are no array of ${type}`);
  if (!littleEndian && size > 1) swapBytes(bytes, size);
  const buffer = bytes.buffer.byteLength === bytes.length ? bytes.buffer : bytes.slice().buffer;
  switch (type) {
    case "uint8":
      return success(new Uint8Array(buffer));
    case "int8":
      return success(new Int8Array(buffer));
    case "uint16":
      return success(new Uint16Array(buffer));
    case "int16":
      return success(new Int16Array(buffer));
    case "uint32":
      return success(new Uint32Array(buffer));
    case "int32":
      return success(new Int32Array(buffer));
    case "float16":
      return success(decodeHalves(new Uint16Array(buffer)));
    case "float32":
      return success(new Float32Array(buffer));
    case "float64":
      return success(new Float64Array(buffer));
    case "int64":
      return wholeNumbers(new BigInt64Array(buffer), place);
    case "uint64":
      return wholeNumbers(new BigUint64Array(buffer), place);
  }
}

function swapBytes(bytes: Uint8Array, size: number): void {
  for (let at = 0; at < bytes.length; at += size)
    for (let low = at, high = at + size - 1; low < high; low++, high--) {
      const byte = bytes[low]!;
      bytes[low] = bytes[high]!;
      bytes[high] = byte;
    }
}
