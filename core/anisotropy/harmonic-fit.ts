import { type ChiSquareTest, chiSquareTest } from "./chi-square.ts";
import type { RingPixels } from "./ring-pixels.ts";
import { type FittedShapes, type FlatFit, fitShapes, refitShapes, type ShapeFit, shapeScore } from "./shape-fit.ts";

/**
 * Azimuthal shape of an annulus: I(Q, phi) = R(Q) [1 + sum over orders of a_n cos n phi + b_n sin n phi]. Coefficients
 * are a_1', b_1', a_2', ... in the order of `orders`, relative to the mean over a full turn.
 */
export interface HarmonicFit extends ShapeFit {
  readonly orders: readonly number[];
}

/** @returns undefined where the unmasked angles do not fix the harmonics */
export function fitHarmonics(
  pixels: RingPixels,
  orders: readonly number[],
  columns: HarmonicColumns = harmonicColumns(pixels, orders),
): (HarmonicFit & FittedShapes) | undefined {
  const fit = fitShapes(pixels, columnsOf(columns, orders));
  return fit && { ...fit, orders };
}

/** Fits more orders beside those of a fit; see `refitShapes`. They come last. */
export function refitHarmonics(
  before: HarmonicFit & FittedShapes,
  more: readonly number[],
  columns: HarmonicColumns,
): (HarmonicFit & FittedShapes) | undefined {
  const start = new Float64Array(before.coefficients.length + 2 * more.length);
  start.set(before.coefficients);
  const fit = refitShapes(before, [...before.columns, ...columnsOf(columns, more)], start);
  return fit && { ...fit, orders: [...before.orders, ...more] };
}

/** Score test of the hypothesis that the named harmonics are 0; undefined where the angles do not fix them. */
export function isotropyScore(
  flat: FlatFit,
  orders: readonly number[],
  columns: HarmonicColumns,
): ChiSquareTest | undefined {
  const score = shapeScore(flat, columnsOf(columns, orders));
  return score === undefined ? undefined : chiSquareTest(score, 2 * orders.length);
}

/** Relative intensity at the azimuth phi (rad), mean 1 over a full turn. */
export function harmonicShape({ orders, coefficients }: HarmonicFit, cosPhi: number, sinPhi: number): number {
  let shape = 1;
  eachHarmonic(orders, cosPhi, sinPhi, (at, cn, sn) => {
    shape += coefficients[2 * at]! * cn + coefficients[2 * at + 1]! * sn;
  });
  return shape;
}

/** cos n phi and sin n phi of every pixel, by order n. */
export type HarmonicColumns = ReadonlyMap<number, readonly [Float64Array, Float64Array]>;

export function harmonicColumns({ count, cos, sin }: RingPixels, orders: readonly number[]): HarmonicColumns {
  const columns = new Map(orders.map((n) => [n, [new Float64Array(count), new Float64Array(count)]] as const));
  const highest = orders.reduce((most, order) => Math.max(most, order), 0);
  const [cn, sn] = [cos.slice(), sin.slice()];
  for (let n = 1; n <= highest; n++) {
    const kept = columns.get(n);
    kept?.[0].set(cn);
    kept?.[1].set(sn);
    for (let i = 0; i < count; i++) {
      const [c, s] = [cos[i]!, sin[i]!];
      const next = cn[i]! * c - sn[i]! * s;
      sn[i] = sn[i]! * c + cn[i]! * s;
      cn[i] = next;
    }
  }
  return columns;
}

/** @throws RangeError on an order that was not made */
export function columnsOf(columns: HarmonicColumns, orders: readonly number[]): readonly Float64Array[] {
  return orders.flatMap((order) => {
    const made = columns.get(order);
    if (made === undefined) throw new RangeError(`no columns of order ${order}`);
    return made;
  });
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
