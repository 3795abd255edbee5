import { MASK_REASONS } from "../model/mask.ts";
import { smoothGood } from "./smooth.ts";

/** Relative efficiency of the pixels, mean 1 over the good ones. */
export interface Sensitivity {
  readonly eta: Float64Array;
  /** Variance of eta over eta^2, from the flood's counts. */
  readonly relativeVariance: Float64Array;
  /**
   * The same before any smoothing. Smoothed neighbours share their scatter: a sum over more pixels than the smoothing
   * joins scatters as if nothing had been smoothed, a sum over fewer by less.
   */
  readonly sumRelativeVariance: Float64Array;
  /** Variance of eta between good pixels, without what the flood's counts scatter: what is known of one that is not good. */
  readonly spread: number;
  /** `flood` where eta can't be known or is out of range, else 0. */
  readonly mask: Uint16Array;
  readonly goodPixels: number;
  /** Pixels that were left out because eta is far from the median. */
  readonly outOfRange: number;
}

/** A sensitivity with what the ledger says of its flood. */
export interface MeasuredSensitivity extends Sensitivity {
  readonly parameters: Readonly<Record<string, unknown>>;
  readonly sources: Readonly<Record<string, string>>;
  readonly warnings: readonly string[];
}

export interface FloodCounts {
  readonly width: number;
  readonly height: number;
  /** Counts net of the blocked beam, dead time corrected, and their variance. */
  readonly net: Float64Array;
  readonly variance: Float64Array;
  /** 0: take part in the mean. */
  readonly mask: Uint16Array;
  /** What an even detector would count, up to a constant: solid angle, slanted path, absorption with angle. */
  readonly expected: Float64Array;
}

/** An efficiency further from the median than this belongs to a shadow or a broken pixel. Common practice, no source. */
const LEAST_OF_MEDIAN = 0.2;
const MOST_OF_MEDIAN = 3;

/**
 * eta = F / (solid angle x A/T x efficiency ratio), normalised to mean 1 over good pixels, from a run of something that
 * scatters alike in all directions. With the geometry taken out of the flood it must be put into the data: both or
 * neither.
 *
 * @param smooth standard deviation of a Gaussian, px; 0: none
 */
export function sensitivityFromFlood(flood: FloodCounts, smooth: number): Sensitivity {
  const { width, height, net, variance, mask, expected } = flood;
  const size = width * height;
  if (net.length !== size || variance.length !== size || mask.length !== size)
    throw new RangeError(`${net.length} flood pixels, ${mask.length} mask entries for ${width} x ${height}`);
  const eta = new Float64Array(size);
  const etaVariance = new Float64Array(size);
  const good = new Uint8Array(size);
  for (let p = 0; p < size; p++) {
    if (mask[p] !== 0 || !(net[p]! > 0)) continue;
    const by = expected[p]!;
    eta[p] = net[p]! / by;
    etaVariance[p] = variance[p]! / (by * by);
    good[p] = 1;
  }
  const middle = medianOfGood(eta, good);
  let outOfRange = 0;
  for (let p = 0; p < size; p++) {
    if (mask[p] !== 0) continue;
    if (good[p] === 1 && eta[p]! >= LEAST_OF_MEDIAN * middle && eta[p]! <= MOST_OF_MEDIAN * middle) continue;
    good[p] = 0;
    outOfRange++;
  }
  const smoothed =
    smooth > 0
      ? smoothGood({ width, height, value: eta, variance: etaVariance }, good, smooth)
      : { value: eta, variance: etaVariance };

  let sum = 0;
  let goodPixels = 0;
  for (let p = 0; p < size; p++) {
    if (good[p] === 0) continue;
    sum += smoothed.value[p]!;
    goodPixels++;
  }
  const mean = sum / goodPixels;
  const bits = new Uint16Array(size);
  const relativeVariance = new Float64Array(size);
  const sumRelativeVariance = smooth > 0 ? new Float64Array(size) : relativeVariance;
  let spread = 0;
  for (let p = 0; p < size; p++) {
    if (good[p] === 0) {
      // Never used, since the pixel is masked; 1 so that no division can go wrong.
      eta[p] = 1;
      bits[p] = MASK_REASONS.flood;
      continue;
    }
    const own = smoothed.value[p]!;
    if (smooth > 0) sumRelativeVariance[p] = etaVariance[p]! / (eta[p]! * eta[p]!);
    relativeVariance[p] = smoothed.variance[p]! / (own * own);
    eta[p] = own / mean;
    spread += (eta[p]! - 1) * (eta[p]! - 1) - smoothed.variance[p]! / (mean * mean);
  }
  return {
    eta,
    relativeVariance,
    sumRelativeVariance,
    spread: goodPixels > 0 ? Math.max(0, spread / goodPixels) : 0,
    mask: bits,
    goodPixels,
    outOfRange,
  };
}

function medianOfGood(map: Float64Array, good: Uint8Array): number {
  const values = map.filter((_, p) => good[p] === 1).sort();
  return values.length === 0 ? Number.NaN : values[values.length >> 1]!;
}
