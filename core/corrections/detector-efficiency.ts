import { expm1 } from "../model/steady-math.ts";
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
