import { failure, type Result, success } from "../../model/result.ts";

/** Finds the pixel of an event by its id; -1 where no pixel has that number. */
export type PixelFinder = (id: number) => number;

/** Numbers that lie so close together that a table of them all is small: entries a pixel, and a floor for small banks. */
const TABLE_PER_PIXEL = 8;
const TABLE_FLOOR = 2 ** 16;
/** Pixels that are put in order for a search; sorting more takes seconds. */
const SEARCHED = 2 ** 21;

/**
 * A finder over the numbers of all pixels of a bank, in any order and with any gaps. A table where they lie close, else a
 * search by halves: neither allocates anything an event.
 *
 * @param numbers one a pixel, whole; `place` names the field in a fault
 */
export function pixelFinder(numbers: ArrayLike<number>, place: string): Result<PixelFinder> {
  const n = numbers.length;
  let first = Number.POSITIVE_INFINITY;
  let last = Number.NEGATIVE_INFINITY;
  for (let p = 0; p < n; p++) {
    const number = numbers[p]!;
    if (!Number.isSafeInteger(number))
      return failure("inconsistent", `${place} holds ${number}, which is no pixel number`, { field: place });
    if (number < first) first = number;
    if (number > last) last = number;
  }
  const span = last - first + 1;
  if (span <= Math.max(TABLE_FLOOR, TABLE_PER_PIXEL * n)) return byTable(numbers, { first, span, place });
  if (n > SEARCHED)
    return failure("unsupported", `${place} gives ${n} pixels numbers with large gaps; the limit is ${SEARCHED}`, {
      field: place,
    });
  return bySearch(numbers, place);
}

function byTable(
  numbers: ArrayLike<number>,
  { first, span, place }: { readonly first: number; readonly span: number; readonly place: string },
): Result<PixelFinder> {
  const table = new Int32Array(span).fill(-1);
  for (let p = 0; p < numbers.length; p++) {
    const at = numbers[p]! - first;
    if (table[at] !== -1) return twice(numbers[p]!, place);
    table[at] = p;
  }
  return success((id) => table[id - first] ?? -1);
}

function bySearch(numbers: ArrayLike<number>, place: string): Result<PixelFinder> {
  const n = numbers.length;
  const order = Uint32Array.from({ length: n }, (_, p) => p).sort((a, b) => numbers[a]! - numbers[b]!);
  const sorted = Float64Array.from(order, (p) => numbers[p]!);
  for (let i = 1; i < n; i++) if (sorted[i] === sorted[i - 1]) return twice(sorted[i]!, place);
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

function twice(number: number, place: string): Result<never> {
  return failure("inconsistent", `${place} gives the number ${number} to two pixels`, { field: place });
}
