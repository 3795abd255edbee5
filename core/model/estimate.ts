/**
 * One frame's part in the signal: signal = sum over terms of coefficient * value. Frames stay apart until the sums are
 * made, so that a frame which enters twice (a blocked beam in sample and in cell) has its coefficients combined before
 * they are squared, and so that the zero-count rule can look at each frame's counts in a bin.
 */
export interface Term {
  /** Which frame this is: a role of the plan's runs. One term a role. */
  readonly role: string;
  /** Registered counts, as read. */
  readonly counts: Float64Array;
  /** Counts after the counter's own corrections (dead time). */
  readonly value: Float64Array;
  /** Variance of `value`. */
  readonly variance: Float64Array;
  /** What multiplies `value` in the signal, one entry a pixel. The sample's own is 1. */
  readonly coefficient: Float64Array;
}

/** A factor that is the same for all pixels and known to a relative standard uncertainty; not reduced by averaging. */
export interface CommonFactor {
  readonly name: string;
  readonly value: number;
  /** Undefined: not known. */
  readonly relativeSigma?: number;
  /** What it divides: the sample in its cell before the cell was taken off, or the cell. Absent: what is left. */
  readonly of?: "sample" | "emptyCell";
  /**
   * Part of its scatter that other factors have too: the value goes with this power of one measurement. A transmission
   * and an absolute scale of the same empty beam share its counts, which their product does not have.
   */
  readonly shared?: { readonly measurement: string; readonly relativeVariance: number; readonly power: 1 | -1 };
}

/** An intensity and what the cell would add to it, in one unit. */
export interface IntensityParts {
  /** With the cell taken off, before a constant background. */
  readonly net: number;
  readonly cell: number;
}

/**
 * Standard uncertainty that the common factors give an intensity, in its unit. With s the sample in its cell and c the
 * cell, I = s - c, a factor moves by its relative error what it divides: s, c or I. First order; the little that a
 * transmission does to the slanted path is left out.
 * @returns undefined where no factor has a sigma
 */
export function commonSigma(common: readonly CommonFactor[], { net, cell }: IntensityParts): number | undefined {
  const known = common.filter(({ relativeSigma }) => relativeSigma !== undefined);
  if (known.length === 0) return undefined;
  const lever = ({ of }: CommonFactor) => (of === "sample" ? -(net + cell) : of === "emptyCell" ? cell : -net);
  let variance = 0;
  for (const [i, factor] of known.entries()) {
    const own = lever(factor);
    variance += own * own * factor.relativeSigma! * factor.relativeSigma!;
    for (const other of known.slice(0, i)) {
      if (factor.shared === undefined || factor.shared.measurement !== other.shared?.measurement) continue;
      const covariance = factor.shared.power * other.shared.power * factor.shared.relativeVariance;
      variance += 2 * own * lever(other) * covariance;
    }
  }
  return Math.sqrt(Math.max(0, variance));
}

/**
 * Relative standard uncertainty that all points share where no cell is taken off. With one it is larger where the cell
 * scatters more than the sample: `commonSigma` has it point by point.
 */
export function commonRelativeSigma(common: readonly CommonFactor[]): number | undefined {
  return commonSigma(
    common.filter(({ of }) => of !== "emptyCell"),
    { net: 1, cell: 0 },
  );
}

/**
 * What corrections work on: per pixel, intensity = signal / norm. Arrays are row-major with width * height entries.
 * Masked pixels (mask not 0) keep whatever they hold and enter no sum.
 */
export interface Estimate {
  readonly width: number;
  readonly height: number;
  readonly mask: Uint16Array;
  terms: Term[];
  /** Everything that multiplies the cross-section: monitor or time, transmission, solid angle, efficiency, thickness. */
  readonly norm: Float64Array;
  /** Relative variance of each pixel's `norm` (flood statistics); absent: none. */
  normRelativeVariance?: Float64Array;
  /**
   * The same for sums over pixels, as if each had it alone, where neighbours share it (a smoothed flood); absent: that of
   * the pixels.
   */
  normSumRelativeVariance?: Float64Array;
  /** Pixels (not 0) whose part in `norm` is only the mean of all others: they err together, by the spread of those. */
  unknownNorm?: { readonly pixels: Uint16Array; readonly relativeVariance: number };
  common: CommonFactor[];
  /** Signal of the empty cell that was taken off, one entry a pixel: it is what the cell's own factors move. */
  cellSignal?: Float64Array;
  /** Constant background still to be subtracted from the intensity, in its unit. */
  background: number;
  /** Keys of the corrections that ran, so that none runs twice. */
  applied?: readonly string[];
}

/** Signal and its variance of one pixel. */
export function pixelSignal(estimate: Estimate, p: number): { readonly signal: number; readonly variance: number } {
  let signal = 0;
  let variance = 0;
  for (const { coefficient, value, variance: own } of estimate.terms) {
    const a = coefficient[p]!;
    signal += a * value[p]!;
    variance += a * a * own[p]!;
  }
  return { signal: signal - estimate.background * estimate.norm[p]!, variance };
}
