import type { Curve, Profile } from "../../core/model/curve.ts";
import type { CurvePoint } from "../view-types.ts";

type Average = Curve | Profile;

/** The point of a curve that a pixel helped to make; undefined where it is masked, outside, or in an empty bin. */
export function pointOfPixel(average: Average, bins: Int32Array, pixel: number): CurvePoint | undefined {
  const bin = bins[pixel];
  if (bin === undefined || bin < 0) return undefined;
  const index = indexOfBin(average.bin, bin);
  return index === undefined ? undefined : { key: average.id, index };
}

/** `bin` rises from entry to entry: empty bins are left out, the others keep their order. */
function indexOfBin(bins: Int32Array, bin: number): number | undefined {
  let low = 0;
  let high = bins.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const here = bins[middle] ?? 0;
    if (here === bin) return middle;
    if (here < bin) low = middle + 1;
    else high = middle - 1;
  }
  return undefined;
}
