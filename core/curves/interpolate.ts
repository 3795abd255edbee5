import { exp, ln } from "../model/steady-math.ts";
import type { CurvePoints } from "./curve-points.ts";

/**
 * Intensity and sigma of a curve at another Q: logarithmic in both between two positive points, else linear; sigma
 * linear. Undefined outside the curve.
 */
export function interpolateCurve(
  curve: CurvePoints,
  q: number,
): { readonly intensity: number; readonly sigma: number } | undefined {
  const { q: at, intensity, sigma } = curve;
  const last = at.length - 1;
  if (last < 1 || !(q >= at[0]! && q <= at[last]!)) return undefined;
  let [low, high] = [0, last];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (at[middle]! <= q) low = middle;
    else high = middle;
  }
  const [q0, q1, i0, i1] = [at[low]!, at[high]!, intensity[low]!, intensity[high]!];
  // Two points at the same Q, as some published curves have: the first of them.
  const linear = q1 > q0 ? (q - q0) / (q1 - q0) : 0;
  const isLog = q0 > 0 && q1 > q0 && i0 > 0 && i1 > 0;
  const f = isLog ? ln(q / q0) / ln(q1 / q0) : linear;
  return {
    intensity: isLog ? i0 * exp(f * ln(i1 / i0)) : i0 + f * (i1 - i0),
    sigma: sigma === undefined ? Number.NaN : sigma[low]! + linear * (sigma[high]! - sigma[low]!),
  };
}
