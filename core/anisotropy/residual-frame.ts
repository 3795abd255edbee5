import type { Estimate } from "../model/estimate.ts";

/**
 * The frame minus its radial average, in standard deviations: (signal - norm I(Q))/sqrt(variance expected of it).
 *
 * The radial average is taken in rings of one pixel's width and interpolated in Q between them.
 *
 * @param q     Q of each pixel, 1/angstrom
 * @param qStep Q from one pixel to the next, 1/angstrom
 * @returns one value a pixel; NaN where masked or where a ring has no intensity > 0
 */
export function residualFrame(estimate: Estimate, q: Float64Array, qStep: number): Float64Array {
  const { mask, norm, background, terms, normRelativeVariance } = estimate;
  let last = 0;
  for (let p = 0; p < q.length; p++) if (mask[p] === 0) last = Math.max(last, Math.floor(q[p]! / qStep));
  const sums = { signal: new Float64Array(last + 1), norm: new Float64Array(last + 1), q: new Float64Array(last + 1) };
  const signal = new Float64Array(q.length);
  const floor = new Float64Array(q.length);
  for (let p = 0; p < q.length; p++) {
    if (mask[p] !== 0 || !(norm[p]! > 0)) continue;
    signal[p] = -background * norm[p]!;
    for (const [t, term] of terms.entries()) {
      const a = term.coefficient[p]!;
      signal[p]! += a * term.value[p]!;
      // The sample's own variance follows the expected intensity; the other frames' is what they counted.
      if (t > 0) floor[p]! += a * a * term.variance[p]! - a * term.value[p]!;
    }
    floor[p]! += background * norm[p]!;
    const ring = Math.floor(q[p]! / qStep);
    sums.signal[ring]! += signal[p]!;
    sums.norm[ring]! += norm[p]!;
    sums.q[ring]! += norm[p]! * q[p]!;
  }
  const level = sums.signal.map((sum, r) => (sums.norm[r]! > 0 ? sum / sums.norm[r]! : Number.NaN));
  const at = sums.q.map((sum, r) => (sums.norm[r]! > 0 ? sum / sums.norm[r]! : Number.NaN));
  return signal.map((value, p) => {
    if (mask[p] !== 0 || !(norm[p]! > 0)) return Number.NaN;
    const intensity = levelAt(level, at, Math.floor(q[p]! / qStep), q[p]!);
    const raw = norm[p]! * (intensity + background);
    const ofNorm = normRelativeVariance === undefined ? 0 : raw * raw * normRelativeVariance[p]!;
    const variance = norm[p]! * intensity + floor[p]! + ofNorm;
    return variance > 0 ? (value - norm[p]! * intensity) / Math.sqrt(variance) : Number.NaN;
  });
}

function levelAt(level: Float64Array, at: Float64Array, ring: number, q: number): number {
  const neighbour = q >= at[ring]! ? ring + 1 : ring - 1;
  const [l0, l1, q0, q1] = [level[ring]!, level[neighbour], at[ring]!, at[neighbour]];
  if (l1 === undefined || q1 === undefined || !Number.isFinite(l1) || q1 === q0) return l0;
  return l0 + ((l1 - l0) * (q - q0)) / (q1 - q0);
}
