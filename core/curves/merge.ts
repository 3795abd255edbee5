import { failure, type Result, success } from "../model/result.ts";
import { type CurvePoints, pointsInRange, requireSigma } from "./curve-points.ts";
import { interpolateCurve } from "./interpolate.ts";

/** How one curve is brought onto another: reference = scale * other + constant. */
export interface ScaleFit {
  readonly scale: number;
  readonly scaleSigma: number;
  readonly constant: number;
  /** 0 where the constant was not fitted. */
  readonly constantSigma: number;
  /** Strongly negative as a rule: report it beside the two sigmas. */
  readonly covariance: number;
  readonly chi2: number;
  readonly degreesOfFreedom: number;
  readonly warnings: readonly string[];
}

/** Points of a curve, as a fit sees them. */
interface Columns {
  readonly intensity: ArrayLike<number>;
  readonly sigma: ArrayLike<number>;
}

/** Above this reduced chi-square the two curves differ in shape, not only in scale; common practice, no source. */
const SHAPE_LIMIT = 2;
const MAX_ROUNDS = 200;

/**
 * Least squares for reference = scale * other + constant over points at the same Q, with the uncertainties of both:
 * weights 1/(sigma_r^2 + scale^2 sigma_o^2), recomputed until the scale stands still.
 *
 * @param withConstant false: the constant stays 0
 */
export function fitScale(reference: Columns, other: Columns, withConstant: boolean): Result<ScaleFit> {
  const n = reference.intensity.length;
  const parameters = withConstant ? 2 : 1;
  if (other.intensity.length !== n) throw new RangeError(`${n} and ${other.intensity.length} points`);
  if (n < parameters + 1)
    return failure("out-of-range", `the curves share ${n} points; scaling needs at least ${parameters + 1}`);
  let scale = 1;
  let sums = weightedSums(reference, other, scale);
  for (let round = 0; round < MAX_ROUNDS; round++) {
    const next = withConstant
      ? (sums.w * sums.xy - sums.x * sums.y) / (sums.w * sums.xx - sums.x * sums.x)
      : sums.xy / sums.xx;
    if (!Number.isFinite(next)) return failure("out-of-range", "the shared points do not fix a scale");
    const moved = Math.abs(next - scale);
    scale = next;
    sums = weightedSums(reference, other, scale);
    if (moved <= 1e-14 * Math.abs(scale)) break;
  }
  const constant = withConstant ? (sums.y - scale * sums.x) / sums.w : 0;
  const determinant = sums.w * sums.xx - sums.x * sums.x;
  let chi2 = 0;
  for (let i = 0; i < n; i++) {
    const residual = reference.intensity[i]! - scale * other.intensity[i]! - constant;
    chi2 += residual * residual * weight(reference.sigma[i]!, other.sigma[i]!, scale);
  }
  const degreesOfFreedom = n - parameters;
  return success({
    scale,
    scaleSigma: Math.sqrt(withConstant ? sums.w / determinant : 1 / sums.xx),
    constant,
    constantSigma: withConstant ? Math.sqrt(sums.xx / determinant) : 0,
    covariance: withConstant ? -sums.x / determinant : 0,
    chi2,
    degreesOfFreedom,
    warnings:
      chi2 > SHAPE_LIMIT * degreesOfFreedom
        ? [`reduced chi-square ${(chi2 / degreesOfFreedom).toFixed(1)}: the curves differ in shape, not only in scale`]
        : [],
  });
}

export interface MergedCurve extends CurvePoints {
  readonly sigma: Float64Array;
  /** 0: from the reference, 1: from the other curve. */
  readonly origin: Uint8Array;
  readonly fit: ScaleFit;
  readonly response: readonly PointResponse[];
}

/** By how much scale and constant of a fit move when one point of the reference does, to first order. */
export interface PointResponse {
  /** Of the reference. */
  readonly point: number;
  readonly scale: number;
  readonly constant: number;
}

/**
 * Brings `other` onto `reference` over their shared Q range and puts the points of both in order. Points are kept as
 * they are, never averaged, so that each keeps its own resolution; the other's sigma is scaled with it.
 */
export function mergeCurves(
  reference: CurvePoints,
  other: CurvePoints,
  range: { readonly qMin: number; readonly qMax: number; readonly withConstant: boolean },
): Result<MergedCurve> {
  const [sigma, otherSigma] = [requireSigma(reference, "the first curve"), requireSigma(other, "the second curve")];
  if (!sigma.ok) return sigma;
  if (!otherSigma.ok) return otherSigma;
  const shared = pointsInRange(reference, range.qMin, range.qMax)
    .map((i) => ({ i, at: interpolateCurve(other, reference.q[i]!) }))
    .filter((pair) => pair.at !== undefined);
  const onto = {
    intensity: shared.map(({ i }) => reference.intensity[i]!),
    sigma: shared.map(({ i }) => sigma.value[i]!),
  };
  const from = { intensity: shared.map(({ at }) => at!.intensity), sigma: shared.map(({ at }) => at!.sigma) };
  const fit = fitScale(onto, from, range.withConstant);
  if (!fit.ok) return fit;
  const { scale, constant } = fit.value;
  const all = [
    ...Array.from(reference.q, (q, i) => ({ q, curve: 0, i })),
    ...Array.from(other.q, (q, i) => ({ q, curve: 1, i })),
  ].sort((a, b) => a.q - b.q || a.curve - b.curve);
  const curves = [reference, other] as const;
  const hasQSigma = curves.every((curve) => curve.qSigma !== undefined);
  const factor = [1, scale] as const;
  const added = [0, constant] as const;
  const sigmas = [sigma.value, otherSigma.value] as const;
  return success({
    q: Float64Array.from(all, (point) => point.q),
    intensity: Float64Array.from(all, ({ curve, i }) => factor[curve]! * curves[curve]!.intensity[i]! + added[curve]!),
    sigma: Float64Array.from(all, ({ curve, i }) => Math.abs(factor[curve]!) * sigmas[curve]![i]!),
    ...(hasQSigma && { qSigma: Float64Array.from(all, ({ curve, i }) => curves[curve]!.qSigma![i]!) }),
    origin: Uint8Array.from(all, (point) => point.curve),
    fit: fit.value,
    response: responseOf(onto, from, fit.value.scale, range.withConstant).map((moves, k) => ({
      point: shared[k]!.i,
      ...moves,
    })),
  });
}

/** The normal equations, weights held, solved for one point's share: M^-1 (w x, w). */
function responseOf(
  reference: Columns,
  other: Columns,
  scale: number,
  withConstant: boolean,
): { readonly scale: number; readonly constant: number }[] {
  const { w, x, xx } = weightedSums(reference, other, scale);
  const determinant = w * xx - x * x;
  return Array.from(other.intensity, (at, i) => {
    const own = weight(reference.sigma[i]!, other.sigma[i]!, scale);
    return withConstant
      ? { scale: (own * (w * at - x)) / determinant, constant: (own * (xx - x * at)) / determinant }
      : { scale: (own * at) / xx, constant: 0 };
  });
}

function weight(referenceSigma: number, otherSigma: number, scale: number): number {
  return 1 / (referenceSigma * referenceSigma + scale * scale * otherSigma * otherSigma);
}

function weightedSums(reference: Columns, other: Columns, scale: number) {
  const sums = { w: 0, x: 0, y: 0, xx: 0, xy: 0 };
  for (let i = 0; i < reference.intensity.length; i++) {
    const w = weight(reference.sigma[i]!, other.sigma[i]!, scale);
    const [x, y] = [other.intensity[i]!, reference.intensity[i]!];
    sums.w += w;
    sums.x += w * x;
    sums.y += w * y;
    sums.xx += w * x * x;
    sums.xy += w * x * y;
  }
  return sums;
}
