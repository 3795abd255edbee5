import type { PixelArray } from "../model/frame.ts";

/**
 * Sums over the pixels of each bin, as the live kernels fill them: double precision throughout, since a 32-bit float
 * stops counting at 2^24.
 */
export interface BinSums {
  readonly count: number;
  readonly pixels: Float64Array;
  readonly counts: Float64Array;
  readonly norm: Float64Array;
  /** Of `counts`; there where a kernel is to sum the variances that it was given. */
  readonly variance?: Float64Array;
}

/** Room for the sums of `count` bins, for a kernel to fill again and again. @param withVariance for a kernel with variances */
export function binSums(count: number, withVariance = false): BinSums {
  return {
    count,
    pixels: new Float64Array(count),
    counts: new Float64Array(count),
    norm: new Float64Array(count),
    ...(withVariance && { variance: new Float64Array(count) }),
  };
}

/**
 * I = sum(C) / sum(N) and its sigma from counting, for raw counts: as `averageEstimate` gives them, with the variance of
 * one count where nothing was counted. NaN in bins without norm.
 */
export function averageOfSums({ count, counts, norm }: BinSums): {
  readonly intensity: Float64Array;
  readonly sigma: Float64Array;
} {
  const intensity = new Float64Array(count).fill(Number.NaN);
  const sigma = new Float64Array(count).fill(Number.NaN);
  for (let b = 0; b < count; b++) {
    if (!(norm[b]! > 0)) continue;
    intensity[b] = counts[b]! / norm[b]!;
    sigma[b] = Math.sqrt(counts[b] === 0 ? 1 : counts[b]!) / norm[b]!;
  }
  return { intensity, sigma };
}

/** @throws RangeError where the frame or the room for the sums is of another size */
export function checkSizes(frame: PixelArray, pixels: number, out: BinSums, count: number): void {
  if (frame.length !== pixels) throw new RangeError(`frame of ${frame.length} pixels, bins of ${pixels}`);
  if (out.count !== count) throw new RangeError(`room for ${out.count} bins, ${count} needed`);
}
