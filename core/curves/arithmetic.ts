import { failure, type Result, success } from "../model/result.ts";
import type { CurvePoints } from "./curve-points.ts";
import { interpolateCurve } from "./interpolate.ts";

/** The curve times a factor that is taken as exact. */
export function scaleCurve<Points extends CurvePoints>(curve: Points, factor: number): Points {
  return {
    ...curve,
    intensity: curve.intensity.map((value) => value * factor),
    ...(curve.sigma !== undefined && { sigma: curve.sigma.map((value) => value * Math.abs(factor)) }),
  };
}

/**
 * curve - factor * other at the Q of `curve`, where `other` reaches; the two are taken as independent.
 *
 * Points of `curve` outside `other` are left out and counted.
 */
export function subtractCurve(
  curve: CurvePoints,
  other: CurvePoints,
  factor = 1,
): Result<{ readonly curve: CurvePoints; readonly leftOut: number }> {
  const kept: number[] = [];
  const [intensity, sigma]: [number[], number[]] = [[], []];
  for (let i = 0; i < curve.q.length; i++) {
    const at = interpolateCurve(other, curve.q[i]!);
    if (at === undefined) continue;
    kept.push(i);
    intensity.push(curve.intensity[i]! - factor * at.intensity);
    sigma.push(Math.hypot(curve.sigma?.[i] ?? Number.NaN, factor * at.sigma));
  }
  if (kept.length === 0) return failure("out-of-range", "the two curves share no Q range");
  return success({
    curve: {
      q: Float64Array.from(kept, (i) => curve.q[i]!),
      intensity: Float64Array.from(intensity),
      ...(curve.sigma !== undefined && other.sigma !== undefined && { sigma: Float64Array.from(sigma) }),
      ...(curve.qSigma !== undefined && { qSigma: Float64Array.from(kept, (i) => curve.qSigma![i]!) }),
    },
    leftOut: curve.q.length - kept.length,
  });
}

/**
 * Fewer points: neighbours that fall into one bin become their mean, weighted by 1/sigma^2.
 *
 * Only right for points with many counts each, where sigma no longer follows the count's own accident; a reduction
 * from the frame with wider bins is better and unbiased at any count.
 *
 * @param edges ascending, 1/angstrom; bins are [low, high), the last one closed
 */
export function rebinCurve(
  curve: CurvePoints,
  edges: Float64Array,
): Result<CurvePoints & { readonly sigma: Float64Array }> {
  const { sigma } = curve;
  if (sigma === undefined) return failure("missing", "the curve has no uncertainties; rebinning needs them");
  const bins = edges.length - 1;
  const sums = Array.from({ length: bins }, () => ({ w: 0, q: 0, intensity: 0, qSigma2: 0, q2: 0 }));
  for (let i = 0; i < curve.q.length; i++) {
    const q = curve.q[i]!;
    const bin = binOf(edges, q);
    if (bin < 0 || !(sigma[i]! > 0)) continue;
    const w = 1 / (sigma[i]! * sigma[i]!);
    const sum = sums[bin]!;
    sum.w += w;
    sum.q += w * q;
    sum.q2 += w * q * q;
    sum.intensity += w * curve.intensity[i]!;
    const own = curve.qSigma?.[i] ?? 0;
    sum.qSigma2 += w * own * own;
  }
  const filled = sums.filter((sum) => sum.w > 0);
  return success({
    q: Float64Array.from(filled, (sum) => sum.q / sum.w),
    intensity: Float64Array.from(filled, (sum) => sum.intensity / sum.w),
    sigma: Float64Array.from(filled, (sum) => 1 / Math.sqrt(sum.w)),
    // Law of total variance: mean of the points' own widths plus the spread of the points in the bin.
    ...(curve.qSigma !== undefined && {
      qSigma: Float64Array.from(filled, (sum) => {
        const mean = sum.q / sum.w;
        return Math.sqrt(sum.qSigma2 / sum.w + Math.max(0, sum.q2 / sum.w - mean * mean));
      }),
    }),
  });
}

function binOf(edges: Float64Array, q: number): number {
  const last = edges.length - 1;
  if (!(q >= edges[0]! && q <= edges[last]!)) return -1;
  if (q === edges[last]) return last - 1;
  let [low, high] = [0, last];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (edges[middle]! <= q) low = middle;
    else high = middle;
  }
  return low;
}
