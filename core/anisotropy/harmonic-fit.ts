import type { RingPixels } from "./ring-pixels.ts";
import { type FittedShapes, fitShapes, refitShapes, type ShapeFit, shapeScore } from "./shape-fit.ts";

/**
 * Azimuthal shape of an annulus: I(Q, phi) = R(Q) [1 + sum over orders of a_n cos n phi + b_n sin n phi]. Coefficients
 * are a_1', b_1', a_2', ... in the order of `orders`, relative to the mean over a full turn.
 */
export interface HarmonicFit extends ShapeFit {
  readonly orders: readonly number[];
}

/** @returns undefined where the unmasked angles do not fix the harmonics */
export function fitHarmonics(pixels: RingPixels, orders: readonly number[]): (HarmonicFit & FittedShapes) | undefined {
  const fit = fitShapes(pixels, harmonicColumns(pixels, orders));
  return fit && { ...fit, orders };
}

/** Fits other orders to the pixels of a fit; see `refitShapes`. */
export function refitHarmonics(before: HarmonicFit & FittedShapes, orders: readonly number[]): HarmonicFit | undefined {
  const start = new Float64Array(2 * orders.length);
  for (const [k, order] of orders.entries()) {
    const at = before.orders.indexOf(order);
    if (at >= 0) start.set(before.coefficients.subarray(2 * at, 2 * at + 2), 2 * k);
  }
  const fit = refitShapes(before, harmonicColumns(before.pixels, orders), start);
  return fit && { ...fit, orders };
}

/** Score test of the hypothesis that the named harmonics are 0; undefined where the angles do not fix them. */
export function isotropyScore(
  pixels: RingPixels,
  orders: readonly number[],
): { readonly score: number; readonly degreesOfFreedom: number } | undefined {
  const score = shapeScore(pixels, harmonicColumns(pixels, orders));
  return score === undefined ? undefined : { score, degreesOfFreedom: 2 * orders.length };
}

/** Relative intensity at the azimuth phi (rad), mean 1 over a full turn. */
export function harmonicShape({ orders, coefficients }: HarmonicFit, cosPhi: number, sinPhi: number): number {
  let shape = 1;
  eachHarmonic(orders, cosPhi, sinPhi, (at, cn, sn) => {
    shape += coefficients[2 * at]! * cn + coefficients[2 * at + 1]! * sn;
  });
  return shape;
}

/** cos n phi and sin n phi of every pixel, order by order. */
export function harmonicColumns(pixels: RingPixels, orders: readonly number[]): Float64Array[] {
  const columns = orders.flatMap(() => [new Float64Array(pixels.count), new Float64Array(pixels.count)]);
  for (let i = 0; i < pixels.count; i++)
    eachHarmonic(orders, pixels.cos[i]!, pixels.sin[i]!, (at, cn, sn) => {
      columns[2 * at]![i] = cn;
      columns[2 * at + 1]![i] = sn;
    });
  return columns;
}

/** cos n phi and sin n phi by the recursion of the Chebyshev polynomials. */
function eachHarmonic(
  orders: readonly number[],
  c: number,
  s: number,
  take: (at: number, cn: number, sn: number) => void,
): void {
  const highest = orders.reduce((most, order) => Math.max(most, order), 0);
  let [cn, sn] = [1, 0];
  for (let n = 1; n <= highest; n++) {
    [cn, sn] = [cn * c - sn * s, sn * c + cn * s];
    const at = orders.indexOf(n);
    if (at >= 0) take(at, cn, sn);
  }
}
