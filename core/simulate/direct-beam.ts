/**
 * Density of the unscattered beam on the bank at the distance r from its middle, 1/m^2, for a source disc seen through
 * a sample disc, each filled evenly: the two discs, as large as they appear on the bank, folded with each other.
 *
 *   density(r) = lens(r; a, b) / (pi a^2 pi b^2),  a = R1 L/L1,  b = R2 (1 + L/L1)
 *
 * Its outer radius is a + b, its flat top |a - b|. Source: common practice, no source; geometry of two discs.
 */
export function directBeamDensity(sourceImage: number, sampleImage: number): (r: number) => number {
  const area = Math.PI * sourceImage * sourceImage * Math.PI * sampleImage * sampleImage;
  return (r) => lensArea(r, sourceImage, sampleImage) / area;
}

/** Area that two discs of radii a and b share when their middles are d apart. */
function lensArea(d: number, a: number, b: number): number {
  if (d >= a + b) return 0;
  if (d <= Math.abs(a - b)) return Math.PI * Math.min(a, b) * Math.min(a, b);
  const x = (d * d + a * a - b * b) / (2 * d);
  const y = d - x;
  const segment = (radius: number, toChord: number) =>
    radius * radius * Math.acos(Math.max(-1, Math.min(1, toChord / radius))) -
    toChord * Math.sqrt(Math.max(0, radius * radius - toChord * toChord));
  return segment(a, x) + segment(b, y);
}
