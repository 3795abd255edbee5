/** Unit of an intensity, fixed by the corrections that were applied. */
export type IntensityUnit =
  | "1/cm"
  | "counts/monitor/sr"
  | "counts/s/sr"
  | "counts/sr"
  | "counts/monitor"
  | "counts/s"
  | "counts"
  | (string & {});

/** What every set of bins carries, one entry a bin; empty bins are left out. */
export interface BinnedColumns {
  readonly intensity: Float64Array;
  /** One standard deviation from counting; never 0 for a measured bin. */
  readonly sigma: Float64Array;
  readonly pixels: Float64Array;
  /** Registered counts of the sample frame in the bin. */
  readonly counts: Float64Array;
  /** Sum of norm in the bin. */
  readonly norm: Float64Array;
  /** One standard deviation from the scatter between pixels; NaN for one pixel. */
  readonly scatterSigma: Float64Array;
  /** Reduced chi-square between pixels, expected value in the denominator; NaN for one pixel. */
  readonly chi2: Float64Array;
  /** Bins in which a frame counted nothing, so that its variance was taken as 1 count: 1, else 0. */
  readonly zeroCounts: Uint8Array;
  /** What the empty cell scattered into the bin and was taken off, in the unit of the intensity; absent: no cell. */
  readonly cell?: Float64Array;
  /** Index of the bin before empty ones were left out. */
  readonly bin: Int32Array;
}

/** I(Q), or I along a box. Q in 1/angstrom. */
export interface Curve extends BinnedColumns {
  readonly kind: "radial" | "sector" | "box";
  readonly id: string;
  readonly unit: IntensityUnit;
  readonly q: Float64Array;
  /** Standard deviation of Q; absent where the geometry does not give it. */
  readonly qSigma?: Float64Array;
}

/** I(phi) in an annulus. phi in rad, the middle of the bin, 0 <= phi < 2 pi. */
export interface Profile extends BinnedColumns {
  readonly kind: "annulus";
  readonly id: string;
  readonly unit: IntensityUnit;
  readonly phi: Float64Array;
  readonly qMin: number;
  readonly qMax: number;
}
