import { cos, exp, expm1 } from "../model/steady-math.ts";

/**
 * Efficiency of an absorbing layer for a neutron that crosses it at 2 theta, over that at normal incidence:
 *
 *   (1 - exp(-u / cos 2theta)) / (1 - exp(-u)),   u: optical depth of the layer at normal incidence
 *
 * For a flat detector square to the beam. Common practice; the exponential law of absorption.
 *
 * @param cosTwoTheta row-major, one entry a pixel; > 0
 * @throws RangeError on an optical depth that isn't > 0
 */
export function efficiencyRatio(
  cosTwoTheta: Float64Array,
  opticalDepth: number,
  out: Float64Array = new Float64Array(cosTwoTheta.length),
): Float64Array {
  if (!(opticalDepth > 0)) throw new RangeError(`optical depth must be > 0, not ${opticalDepth}`);
  const normal = -expm1(-opticalDepth);
  for (let p = 0; p < cosTwoTheta.length; p++) out[p] = -expm1(-opticalDepth / cosTwoTheta[p]!) / normal;
  return out;
}

/** Gauss-Legendre points of five on -1..1, and their weights (any handbook of numerical integration). */
const POINTS = [-0.906179845938664, -0.5384693101056831, 0, 0.5384693101056831, 0.906179845938664] as const;
const WEIGHTS = [
  0.2369268850561891, 0.4786286704993665, 0.5688888888888889, 0.4786286704993665, 0.2369268850561891,
] as const;
const PANELS = 8;
/** Steps of the table over 1/cos(alpha): linear between them is good to 1e-9 up to 60 degrees. */
const STEPS = 8192;

/**
 * Efficiency of a round tube: 1 - exp(-u chord/diameter), averaged over the width of the tube.
 * @param opticalDepth u, along the diameter in the direction of flight; >= 0
 */
export function tubeEfficiency(opticalDepth: number): number {
  // With x = R sin(phi) the chord is the diameter times cos(phi), and the width dx/R is cos(phi) dphi.
  const half = Math.PI / (4 * PANELS);
  let sum = 0;
  for (let panel = 0; panel < PANELS; panel++)
    for (const [k, point] of POINTS.entries()) {
      const c = cos(half * (2 * panel + 1 + point));
      sum += WEIGHTS[k]! * c * (1 - exp(-opticalDepth * c));
    }
  return sum * half;
}

/**
 * What upright tubes count at a pixel over what they would at normal incidence, for a solid angle of flat pixels: the
 * efficiency rises with the slope alpha of the flight to the horizontal (the chord is longer by 1/cos(alpha)), and a tube
 * is as wide from every horizontal direction, where a flat pixel narrows by cos(2 theta)/cos(alpha). Common practice for
 * arrays of tubes (Karge, Gilles & Busch 2017, J. Appl. Cryst. 50, 1382).
 *
 * @param cosTwoTheta  row-major, one entry a pixel; > 0
 * @param cosElevation cosine of alpha, likewise
 * @param opticalDepth along the diameter, at normal incidence
 */
export function tubeRatio(
  cosTwoTheta: Float64Array,
  cosElevation: Float64Array,
  opticalDepth: number,
  out: Float64Array = new Float64Array(cosTwoTheta.length),
): Float64Array {
  if (!(opticalDepth > 0)) throw new RangeError(`optical depth must be > 0, not ${opticalDepth}`);
  let least = 1;
  for (let p = 0; p < cosElevation.length; p++) least = Math.min(least, cosElevation[p]!);
  const range = 1 / least - 1;
  const normal = tubeEfficiency(opticalDepth);
  const table = Float64Array.from(
    { length: STEPS + 1 },
    (_, i) => tubeEfficiency(opticalDepth * (1 + (range * i) / STEPS)) / normal,
  );
  for (let p = 0; p < out.length; p++) {
    const at = range === 0 ? 0 : ((1 / cosElevation[p]! - 1) / range) * STEPS;
    const i = Math.min(STEPS - 1, Math.floor(at));
    const efficiency = table[i]! + (at - i) * (table[i + 1]! - table[i]!);
    out[p] = (efficiency * cosElevation[p]!) / cosTwoTheta[p]!;
  }
  return out;
}
