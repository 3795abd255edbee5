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
  /**
   * Relative covariance with the factors before it: a transmission and an absolute scale that were measured with the
   * same empty beam share its scatter, which their product does not have.
   */
  readonly relativeCovariance?: number;
}

/**
 * Relative standard uncertainty that all points share: the known sigmas of the common factors, and what they have in
 * common, added in squares. Undefined where no factor has one. It is relative to what the sample in its cell scatters:
 * where a cell was subtracted, the sample's transmission moves the difference by (1 + cell/sample) times as much.
 */
export function commonRelativeSigma(common: readonly CommonFactor[]): number | undefined {
  let variance = 0;
  let isKnown = false;
  for (const { relativeSigma, relativeCovariance } of common) {
    if (relativeSigma === undefined) continue;
    isKnown = true;
    variance += relativeSigma * relativeSigma + 2 * (relativeCovariance ?? 0);
  }
  return isKnown ? Math.sqrt(Math.max(0, variance)) : undefined;
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
  /** Relative variance of `norm` that belongs to each pixel alone (flood statistics); absent: none. */
  normRelativeVariance?: Float64Array;
  common: CommonFactor[];
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
