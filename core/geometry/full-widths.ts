/**
 * Full width at half maximum, rad, of the directions that two round apertures let through to a point of the detector
 * (Pedersen, Posselt & Mortensen 1990, J. Appl. Cryst. 23, 321; the two cases from memory). With r1, r2 the radii, L the
 * collimation and l the way to the detector, and r1/(L + l) >= r2/l,
 *
 *   2 r1/L - (r2^2/(2 r1)) (L + l)^2/(l^2 L),  otherwise  2 r2 (1/L + 1/l) - (r1^2/(2 r2)) l/(L (L + l)).
 *
 * @param way sample to detector, m; over cos^2(2 theta) for the width along Q at 2 theta
 */
export function fullWidths(
  { source: r1, sample: r2, length: L }: { readonly source: number; readonly sample: number; readonly length: number },
  way: number,
): number {
  const both = L + way;
  if (r1 / both >= r2 / way) return (2 * r1) / L - (((r2 * r2) / (2 * r1)) * both * both) / (way * way * L);
  return 2 * r2 * (1 / L + 1 / way) - (((r1 * r1) / (2 * r2)) * way) / (L * both);
}
