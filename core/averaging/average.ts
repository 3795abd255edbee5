import type { QResolution } from "../geometry/resolution.ts";
import type { BinnedColumns } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import type { BinMap } from "./membership.ts";

export interface AverageOptions {
  /** The quantity that is binned, one entry a pixel (Q, Qx), 1/angstrom: for the weighted mean of a bin. */
  readonly q?: Float64Array;
  readonly resolution?: QResolution;
  /** Variance of Q that a pixel has besides, 1/angstrom^2, one entry a pixel: gravity's, by its direction. */
  readonly moreQVariance?: Float64Array | undefined;
}

export interface BinAverages extends BinnedColumns {
  /** sum(W Q) / sum(W); there where `q` was given. */
  readonly q?: Float64Array;
  /** Standard deviation of Q: the mean variance of the pixels and the spread of their Q; with `resolution` only. */
  readonly qSigma?: Float64Array;
}

/**
 * The one estimator: in each bin I = sum(signal) / sum(norm), less the background; sigma from the propagated variance of
 * the sums. Unbiased at any count level, unlike weights by 1/N (Mighell 1999, Astrophys. J. 518, 380).
 * - A frame that counted nothing in a bin enters with the variance of one count there, and the bin is flagged.
 * - Variance of each frame's own coefficients is squared after they were combined: a frame enters once.
 * - `normSumRelativeVariance`, or else `normRelativeVariance`, adds I^2 sum(W^2 r) / sum(W)^2.
 * - chi2 compares pixels with what the bin's sums lead to expect, in numerator and denominator; for raw counts it is
 *   sum((C - I W)^2 / (I W)) / (n - 1).
 * Masked pixels, pixels in no bin and bins without any norm enter nothing.
 * @throws RangeError where the arrays differ in length
 */
export function averageEstimate<Options extends AverageOptions>(
  estimate: Estimate,
  binMap: BinMap,
  options: Options,
): BinAverages & Pick<Options, "q">;
export function averageEstimate(estimate: Estimate, binMap: BinMap): BinAverages;
export function averageEstimate(estimate: Estimate, binMap: BinMap, options: AverageOptions = {}): BinAverages {
  checkLengths(estimate, binMap, options);
  const { count } = binMap;
  const where = binOrSpare(estimate, binMap);
  const weights = sumWeights(estimate, where, count, options);
  const signal = new Float64Array(where.length);
  const expected = new Float64Array(where.length);
  const sums = {
    signal: new Float64Array(count + 1),
    variance: new Float64Array(count + 1),
    zero: new Uint8Array(count + 1),
  };
  let sampleCounts = new Float64Array(count + 1);
  for (const term of estimate.terms) {
    const own = addTerm(term, where, { signal, sums });
    addExpectedVariance(term.coefficient, where, { norm: estimate.norm, own: own.ratio(weights.norm), expected });
    if (term === sampleTerm(estimate)) sampleCounts = own.counts;
  }
  const cell = estimate.cellSignal && sumByBin(estimate.cellSignal, where, count);
  const spread = sumSpread(estimate, where, { weights, signal, expected, total: sums.signal, q: options.q });

  const kept = keptBins(weights.norm, count);
  const column = (value: (bin: number) => number): Float64Array => {
    const values = new Float64Array(kept.length);
    for (let k = 0; k < kept.length; k++) values[k] = value(kept[k]!);
    return values;
  };
  const raw = (b: number): number => sums.signal[b]! / weights.norm[b]!;
  const { q, resolution } = options;
  return {
    intensity: column((b) => raw(b) - estimate.background),
    sigma: column((b) => Math.sqrt(sums.variance[b]! + raw(b) * raw(b) * weights.normVariance[b]!) / weights.norm[b]!),
    pixels: column((b) => weights.pixels[b]!),
    counts: column((b) => sampleCounts[b]!),
    norm: column((b) => weights.norm[b]!),
    scatterSigma: column((b) => {
      const n = weights.pixels[b]!;
      return n > 1 ? Math.sqrt((n / (n - 1)) * spread.residual2[b]!) / weights.norm[b]! : Number.NaN;
    }),
    chi2: column((b) => {
      const n = weights.pixels[b]!;
      return n > 1 ? spread.chi2[b]! / (n - 1) : Number.NaN;
    }),
    zeroCounts: Uint8Array.from(kept, (b) => sums.zero[b]!),
    bin: kept,
    ...(cell && { cell: column((b) => cell[b]! / weights.norm[b]!) }),
    ...(q && { q: column((b) => weights.q[b]! / weights.norm[b]!) }),
    ...(q &&
      resolution && { qSigma: column((b) => Math.sqrt((weights.qVariance[b]! + spread.q2[b]!) / weights.norm[b]!)) }),
  };
}

type Term = Estimate["terms"][number];

function sampleTerm({ terms }: Estimate): Term | undefined {
  return terms.find(({ role }) => role === "sample") ?? terms[0];
}

/** The bin of each pixel; masked pixels and those in no bin go to a spare one, so that the loops need no test. */
function binOrSpare({ mask }: Estimate, { index, count }: BinMap): Int32Array {
  const where = new Int32Array(index.length);
  for (let p = 0; p < where.length; p++) where[p] = mask[p] === 0 && index[p]! >= 0 ? index[p]! : count;
  return where;
}

function sumWeights(
  { norm, normRelativeVariance: ofPixels, normSumRelativeVariance: relative = ofPixels }: Estimate,
  where: Int32Array,
  count: number,
  { q, resolution, moreQVariance }: AverageOptions,
) {
  const sums = {
    pixels: new Float64Array(count + 1),
    norm: new Float64Array(count + 1),
    normVariance: new Float64Array(count + 1),
    q: new Float64Array(count + 1),
    qVariance: new Float64Array(count + 1),
  };
  for (let p = 0; p < where.length; p++) {
    const b = where[p]!;
    sums.pixels[b]!++;
    sums.norm[b]! += norm[p]!;
  }
  if (relative)
    for (let p = 0; p < where.length; p++) {
      const w = norm[p]!;
      sums.normVariance[where[p]!]! += w * w * relative[p]!;
    }
  if (q) for (let p = 0; p < where.length; p++) sums.q[where[p]!]! += norm[p]! * q[p]!;
  if (q && resolution)
    for (let p = 0; p < where.length; p++) {
      const b = where[p]!;
      if (b < count) sums.qVariance[b]! += norm[p]! * (resolution.variance(q[p]!) + (moreQVariance?.[p] ?? 0));
    }
  return sums;
}

function sumByBin(map: Float64Array, where: Int32Array, count: number): Float64Array {
  const sums = new Float64Array(count + 1);
  for (let p = 0; p < where.length; p++) sums[where[p]!]! += map[p]!;
  return sums;
}

function addTerm(
  { counts, value, variance, coefficient }: Term,
  where: Int32Array,
  {
    signal,
    sums,
  }: {
    readonly signal: Float64Array;
    readonly sums: { readonly signal: Float64Array; readonly variance: Float64Array; readonly zero: Uint8Array };
  },
) {
  const bins = sums.signal.length;
  const own = {
    counts: new Float64Array(bins),
    pixels: new Float64Array(bins),
    variance: new Float64Array(bins),
    coefficient2: new Float64Array(bins),
    weighted: new Float64Array(bins),
  };
  for (let p = 0; p < where.length; p++) {
    const b = where[p]!;
    const a = coefficient[p]!;
    const part = a * value[p]!;
    signal[p]! += part;
    sums.signal[b]! += part;
    own.counts[b]! += counts[p]!;
    own.pixels[b]!++;
    own.variance[b]! += variance[p]!;
    own.coefficient2[b]! += a * a;
    own.weighted[b]! += a * a * variance[p]!;
  }
  for (let b = 0; b < bins - 1; b++) {
    if (own.counts[b] === 0 && own.variance[b] === 0 && own.coefficient2[b]! > 0) {
      own.variance[b] = 1;
      own.weighted[b] = own.coefficient2[b]! / own.pixels[b]!;
      sums.zero[b] = 1;
    }
    sums.variance[b]! += own.weighted[b]!;
  }
  return { counts: own.counts, ratio: (norm: Float64Array) => own.variance.map((v, b) => v / norm[b]!) };
}

/** A pixel's share of its bin's variance goes with its norm: what it would have if every pixel saw the same. */
function addExpectedVariance(
  coefficient: Float64Array,
  where: Int32Array,
  { norm, own, expected }: { readonly norm: Float64Array; readonly own: Float64Array; readonly expected: Float64Array },
): void {
  for (let p = 0; p < where.length; p++) {
    const a = coefficient[p]!;
    expected[p]! += a * a * norm[p]! * own[where[p]!]!;
  }
}

function sumSpread(
  { norm }: Estimate,
  where: Int32Array,
  {
    weights,
    signal,
    expected,
    total,
    q,
  }: {
    readonly weights: { readonly norm: Float64Array; readonly q: Float64Array };
    readonly signal: Float64Array;
    readonly expected: Float64Array;
    readonly total: Float64Array;
    readonly q: Float64Array | undefined;
  },
) {
  const intensity = total.map((sum, b) => sum / weights.norm[b]!);
  const meanQ = weights.q.map((sum, b) => sum / weights.norm[b]!);
  const sums = {
    residual2: new Float64Array(total.length),
    chi2: new Float64Array(total.length),
    q2: new Float64Array(total.length),
  };
  for (let p = 0; p < where.length; p++) {
    const b = where[p]!;
    const residual = signal[p]! - intensity[b]! * norm[p]!;
    sums.residual2[b]! += residual * residual;
    if (expected[p]! > 0) sums.chi2[b]! += (residual * residual) / expected[p]!;
  }
  if (q)
    for (let p = 0; p < where.length; p++) {
      const b = where[p]!;
      const distance = q[p]! - meanQ[b]!;
      sums.q2[b]! += norm[p]! * distance * distance;
    }
  return sums;
}

function keptBins(norm: Float64Array, count: number): Int32Array {
  const kept: number[] = [];
  for (let b = 0; b < count; b++) if (norm[b]! > 0) kept.push(b);
  return Int32Array.from(kept);
}

function checkLengths({ width, height, mask, norm, terms }: Estimate, { index }: BinMap, { q }: AverageOptions): void {
  const pixels = width * height;
  const lengths = [mask.length, norm.length, index.length, q?.length ?? pixels];
  for (const term of terms)
    lengths.push(term.counts.length, term.value.length, term.variance.length, term.coefficient.length);
  if (lengths.some((length) => length !== pixels))
    throw new RangeError(`arrays of ${lengths.join(", ")} entries for a frame of ${pixels} pixels`);
}
