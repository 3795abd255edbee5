import { failure, type Result, success } from "../model/result.ts";

/** A finished curve, measured or loaded: what tools on curves work on. Q in 1/angstrom, ascending. */
export interface CurvePoints {
  readonly q: Float64Array;
  readonly intensity: Float64Array;
  /** One standard deviation; absent: not known. */
  readonly sigma?: Float64Array;
  /** Standard deviation of Q; absent: not known. */
  readonly qSigma?: Float64Array;
}

/** Indices of the points with qMin <= q <= qMax whose values are finite. */
export function pointsInRange(curve: CurvePoints, qMin: number, qMax: number): number[] {
  const inside: number[] = [];
  for (let i = 0; i < curve.q.length; i++)
    if (curve.q[i]! >= qMin && curve.q[i]! <= qMax && Number.isFinite(curve.intensity[i]!)) inside.push(i);
  return inside;
}

/** The uncertainty that fits and sums need, or a fault that says it is missing. */
export function requireSigma(curve: CurvePoints, name: string): Result<Float64Array> {
  return curve.sigma === undefined
    ? failure("missing", `${name} has no uncertainties; a weighted fit needs them`)
    : success(curve.sigma);
}
