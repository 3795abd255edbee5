/**
 * Uniform cubic B-spline: the index of the first of four coefficients at position `u` (knot spacings), with their
 * weights in out[0..3] and the weights' derivatives in out[4..7].
 */
export function splineBasis(u: number, knots: number, out: Float64Array): number {
  const most = knots - 3;
  const inside = Math.min(u, most);
  const first = inside < most ? Math.floor(inside) : most - 1;
  const t = inside - first;
  cubicWeights(t, out);
  // Beyond the last knot the profile stays as it is there.
  if (u > most) out.fill(0, 4, 8);
  return first;
}

/** The weights of the four coefficients around a point, t (0..1) beyond the second of them, and their derivatives. */
export function cubicWeights(t: number, out: Float64Array): void {
  const rest = 1 - t;
  out[0] = (rest * rest * rest) / 6;
  out[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
  out[2] = (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6;
  out[3] = (t * t * t) / 6;
  out[4] = -0.5 * rest * rest;
  out[5] = 0.5 * (3 * t * t - 4 * t);
  out[6] = 0.5 * (-3 * t * t + 2 * t + 1);
  out[7] = 0.5 * t * t;
}
