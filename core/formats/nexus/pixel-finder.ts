import { failure, type Result, success } from "../../model/result.ts";

/** Finds the pixel of an event by its id; -1 where no pixel has that number. */
export type PixelFinder = (id: number) => number;

/** Numbers that lie so close together that a table of them all is small: entries a pixel, and a floor for small banks. */
const TABLE_PER_PIXEL = 8;
const TABLE_FLOOR = 2 ** 16;

/**
 * A finder over the numbers of all pixels of a bank, in any order and with any gaps. A table where they lie close, else a
 * search by halves: neither allocates anything an event.
 *
 * @param numbers one a pixel, whole; `place` names the field in a fault
 */
export function pixelFinder(numbers: ArrayLike<number>, place: string): Result<PixelFinder> {
  const n = numbers.length;
  const order = Uint32Array.from({ length: n }, (_, p) => p).sort((a, b) => numbers[a]! - numbers[b]!);
  const sorted = Float64Array.from(order, (p) => numbers[p]!);
  for (let i = 0; i < n; i++) {
    if (!Number.isSafeInteger(sorted[i]))
      return failure("inconsistent", `${place} holds ${sorted[i]}, which is no pixel number`, { field: place });
    if (i > 0 && sorted[i] === sorted[i - 1])
      return failure("inconsistent", `${place} gives the number ${sorted[i]} to two pixels`, { field: place });
  }
  const first = sorted[0] ?? 0;
  const span = (sorted[n - 1] ?? 0) - first + 1;
  if (span <= Math.max(TABLE_FLOOR, TABLE_PER_PIXEL * n)) {
    const table = new Int32Array(span).fill(-1);
    for (let i = 0; i < n; i++) table[sorted[i]! - first] = order[i]!;
    return success((id) => table[id - first] ?? -1);
  }
  return success((id) => {
    let low = 0;
    let high = n - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (sorted[middle]! < id) low = middle + 1;
      else high = middle;
    }
    return sorted[low] === id ? order[low]! : -1;
  });
}
