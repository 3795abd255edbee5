import type { Measured } from "../model/measured.ts";
import { failure, type Result, success } from "../model/result.ts";

/** Points of a curve: Q in 1/angstrom, ascending; sigma > 0 where it is known, 0 or NaN where it is not. */
export interface CurvePoints {
  readonly q: Float64Array;
  readonly intensity: Float64Array;
  readonly sigma: Float64Array;
}

export interface StandardFit extends Required<Measured> {
  readonly points: number;
  /** Reduced chi-square of factor x measured against the reference: shapes that differ show here. */
  readonly chi2: number;
}

const LEAST_POINTS = 3;
const ROUNDS = 100;
const STILL = 1e-14;

/**
 * Factor that brings a measured curve of a standard to its reference curve: k minimising
 * sum (R - k I)^2 / (s_R^2 + k^2 s_I^2), weights and k in turn until they agree. The reference is interpolated linearly
 * at the measured Q; points outside it, and points without a sigma of their own, are left out.
 * @returns the plan's corrections.absolute.value with its sigma
 */
export function fitStandard(
  measured: CurvePoints,
  reference: CurvePoints,
  range?: { readonly qMin: number; readonly qMax: number },
): Result<StandardFit> {
  const pairs: { readonly i: number; readonly si2: number; readonly r: number; readonly sr2: number }[] = [];
  for (let k = 0; k < measured.q.length; k++) {
    const q = measured.q[k]!;
    const sigma = measured.sigma[k]!;
    if (range !== undefined && !(q >= range.qMin && q <= range.qMax)) continue;
    const at = interpolate(reference, q);
    if (at === undefined || !(sigma > 0) || !Number.isFinite(measured.intensity[k]!)) continue;
    pairs.push({ i: measured.intensity[k]!, si2: sigma * sigma, r: at.intensity, sr2: at.variance });
  }
  if (pairs.length < LEAST_POINTS)
    return failure(
      "inconsistent",
      `the curves share ${pairs.length} points with uncertainties; at least ${LEAST_POINTS} are needed to fit a factor`,
    );
  let k = pairs.reduce((sum, { r }) => sum + r, 0) / pairs.reduce((sum, { i }) => sum + i, 0);
  if (!(k > 0)) return failure("inconsistent", "the standard's intensities are not above 0: no factor can be fitted");
  let information = 0;
  for (let round = 0; round < ROUNDS; round++) {
    let top = 0;
    information = 0;
    for (const { i, si2, r, sr2 } of pairs) {
      const w = 1 / (sr2 + k * k * si2);
      top += w * r * i;
      information += w * i * i;
    }
    const next = top / information;
    const still = Math.abs(next - k) <= STILL * Math.abs(next);
    k = next;
    if (still) break;
  }
  const chi2 =
    pairs.reduce((sum, { i, si2, r, sr2 }) => sum + (r - k * i) ** 2 / (sr2 + k * k * si2), 0) / (pairs.length - 1);
  return success({ value: k, sigma: 1 / Math.sqrt(information), points: pairs.length, chi2 });
}

/** Linear between points; the variance is that of the weighted mean of the two, 0 where a reference gives none. */
function interpolate(
  { q, intensity, sigma }: CurvePoints,
  at: number,
): { readonly intensity: number; readonly variance: number } | undefined {
  const last = q.length - 1;
  if (last < 0 || !(at >= q[0]! && at <= q[last]!)) return undefined;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (q[middle]! <= at) low = middle;
    else high = middle;
  }
  const t = high === low ? 0 : (at - q[low]!) / (q[high]! - q[low]!);
  const square = (i: number): number => (sigma[i]! > 0 ? sigma[i]! * sigma[i]! : 0);
  const value = (1 - t) * intensity[low]! + t * intensity[high]!;
  return Number.isFinite(value)
    ? { intensity: value, variance: (1 - t) * (1 - t) * square(low) + t * t * square(high) }
    : undefined;
}

/** Scattering of a slab that sends everything it does not let through evenly into all directions: (1 - T)/(4 pi T d), 1/cm. */
export function isotropicLevel(transmission: number, thicknessCm: number): number {
  if (!(transmission > 0 && transmission <= 1 && thicknessCm > 0))
    throw new RangeError(`transmission ${transmission} and thickness ${thicknessCm} cm`);
  return (1 - transmission) / (4 * Math.PI * transmission * thicknessCm);
}

/** Flat scattering of bound incoherent scatterers: N sigma / (4 pi), 1/cm. @param density 1e24/cm^3 @param sigma barn */
export function incoherentLevel(density: number, sigma: number): number {
  return (density * sigma) / (4 * Math.PI);
}
