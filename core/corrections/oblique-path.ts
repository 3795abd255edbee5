import { expm1, ln } from "../model/steady-math.ts";
/**
 * Path through a slab that stands square to the beam, for scattering by 2 theta, over that of the straight beam:
 *
 *   A/T = (1 - exp(-x)) / x,   x = -ln T (sec 2theta - 1)
 *
 * the mean over the depth of the (single) scattering event. T^(sec 2theta - 1) would put all of it at the entrance.
 * Pauw et al. 2017, J. Appl. Cryst. 50, 1800; Brulet et al. 2007, J. Appl. Cryst. 40, 165.
 *
 * @param cosTwoTheta  row-major, one entry a pixel; > 0
 * @param transmission of the straight beam, 0 < T <= 1
 * @param out          filled and returned; may be `cosTwoTheta` itself
 * @throws RangeError on a transmission out of range
 */
export function obliquePathFactor(
  cosTwoTheta: Float64Array,
  transmission: number,
  out: Float64Array = new Float64Array(cosTwoTheta.length),
): Float64Array {
  if (!(transmission > 0 && transmission <= 1))
    throw new RangeError(`transmission must be > 0 and <= 1, not ${transmission}`);
  const opticalDepth = -ln(transmission);
  for (let p = 0; p < cosTwoTheta.length; p++) {
    const x = opticalDepth * (1 / cosTwoTheta[p]! - 1);
    // Below 1e-6 the quotient loses digits and the series is exact to 2e-13.
    out[p] = x < 1e-6 ? 1 - x / 2 : -expm1(-x) / x;
  }
  return out;
}
