import type { PixelArray } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";

type IntegerArray = Int8Array | Uint8Array | Int16Array | Uint16Array | Int32Array | Uint32Array;

/**
 * Undoes byte-offset packing: each value is the one before plus a difference of 1, 2, 4 or 8 bytes, where the lowest
 * number of a width says that a wider one follows. The first difference is to 0; arithmetic is modulo the element size.
 * (Scheme of x-CBF_BYTE_OFFSET; from memory of International Tables for Crystallography, volume G, chapter 5.6.)
 *
 * @param out filled; its length is the number of elements, its type their size
 */
export function decodeByteOffset(packed: Uint8Array, out: IntegerArray, place: string): Result<PixelArray> {
  const view = new DataView(packed.buffer, packed.byteOffset, packed.length);
  const n = out.length;
  const end = packed.length;
  let at = 0;
  let value = 0;
  for (let i = 0; i < n; i++) {
    if (at + 1 > end) return endsEarly(place, i, n);
    let delta = view.getInt8(at++);
    if (delta === -0x80) {
      if (at + 2 > end) return endsEarly(place, i, n);
      delta = view.getInt16(at, true);
      at += 2;
      if (delta === -0x8000) {
        if (at + 4 > end) return endsEarly(place, i, n);
        delta = view.getInt32(at, true);
        at += 4;
        if (delta === -0x80000000) {
          if (at + 8 > end) return endsEarly(place, i, n);
          delta = Number(BigInt.asIntN(32, view.getBigInt64(at, true)));
          at += 8;
        }
      }
    }
    value = (value + delta) | 0;
    out[i] = value;
  }
  if (at !== end)
    return failure("unreadable", `${place}: ${end - at} bytes are left over after element ${n} of ${n}`, {
      field: place,
    });
  return success(out);
}

function endsEarly(place: string, element: number, n: number): ReturnType<typeof failure> {
  return failure("unreadable", `${place}: element ${element} of ${n}: the data end`, { field: place });
}
