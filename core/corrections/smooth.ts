import { exp } from "../model/steady-math.ts";

/** Gaussian weights beyond this many standard deviations are below 4e-4 of the largest. */
const REACH = 4;

/**
 * Gaussian mean over the good neighbours of each good pixel, with the variance that goes with it:
 * value = sum w v / sum w, variance = sum w^2 var / (sum w)^2, neighbours taken as independent before. Afterwards
 * neighbours share their scatter: for sums over pixels take the variance from before (Sensitivity.sumRelativeVariance).
 *
 * @param sigma px, > 0
 * @param good  1: use; 0: neither read nor written
 */
export function smoothGood(
  map: {
    readonly width: number;
    readonly height: number;
    readonly value: Float64Array;
    readonly variance: Float64Array;
  },
  good: Uint8Array,
  sigma: number,
): { readonly value: Float64Array; readonly variance: Float64Array } {
  if (!(sigma > 0)) throw new RangeError(`the width of smoothing must be > 0 px, not ${sigma}`);
  const { width, height } = map;
  const reach = Math.max(1, Math.ceil(REACH * sigma));
  const weights = Float64Array.from({ length: 2 * reach + 1 }, (_, i) => {
    const d = (i - reach) / sigma;
    return exp(-0.5 * d * d);
  });
  const squares = weights.map((w) => w * w);

  const ones = new Float64Array(good.length);
  const value = new Float64Array(good.length);
  const variance = new Float64Array(good.length);
  for (let p = 0; p < good.length; p++) {
    if (good[p] === 0) continue;
    ones[p] = 1;
    value[p] = map.value[p]!;
    variance[p] = map.variance[p]!;
  }
  const shape = { width, height, reach };
  const sumOfWeights = convolve(ones, weights, shape);
  const sumOfValues = convolve(value, weights, shape);
  const sumOfVariances = convolve(variance, squares, shape);
  for (let p = 0; p < good.length; p++) {
    if (good[p] === 0) continue;
    const w = sumOfWeights[p]!;
    value[p] = sumOfValues[p]! / w;
    variance[p] = sumOfVariances[p]! / (w * w);
  }
  return { value, variance };
}

interface Shape {
  readonly width: number;
  readonly height: number;
  readonly reach: number;
}

/** Along the rows, then along the columns; outside the frame there is nothing. */
function convolve(map: Float64Array, weights: Float64Array, { width, height, reach }: Shape): Float64Array {
  const along = new Float64Array(map.length);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    for (let x = 0; x < width; x++) {
      const first = Math.max(0, x - reach);
      const last = Math.min(width - 1, x + reach);
      let sum = 0;
      for (let i = first; i <= last; i++) sum += weights[i - x + reach]! * map[row + i]!;
      along[row + x] = sum;
    }
  }
  const out = new Float64Array(map.length);
  for (let y = 0; y < height; y++) {
    const first = Math.max(0, y - reach);
    const last = Math.min(height - 1, y + reach);
    for (let j = first; j <= last; j++) {
      const w = weights[j - y + reach]!;
      for (let x = 0; x < width; x++) out[y * width + x]! += w * along[j * width + x]!;
    }
  }
  return out;
}
