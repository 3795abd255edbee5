import { type ChiSquareTest, chiSquareTest } from "./chi-square.ts";
import {
  fitHarmonics,
  type HarmonicColumns,
  type HarmonicFit,
  harmonicColumns,
  isotropyScore,
  refitHarmonics,
} from "./harmonic-fit.ts";
import { PROOF } from "./proof.ts";
import type { RingPixels } from "./ring-pixels.ts";
import { type FittedShapes, type FlatFit, flatFit } from "./shape-fit.ts";

/** The even orders that every annulus is fitted with, and all that are told of. */
export const MEASURED_ORDERS = [2, 4, 6] as const;
export const ODD_ORDERS = [1, 3] as const;
const TESTED_ORDERS = [2, 4] as const;
/** A well aligned sample has these, too: up to 12 the P2 of rods with the law exp(4 cos^2 beta) is right to 2e-6. */
const HIGHER_ORDERS = [8, 10, 12] as const;
const HIGHEST = 20;
/** Orders that cost the alignment no more of its sigma than this are taken along without being asked for. */
const CHEAP = 1.05;
/** Chance of an order by counting alone, below which it shows: common practice, no source. */
const SEEN = 0.01;

export type HarmonicShapes = HarmonicFit & FittedShapes;

/** What the measures of an annulus are made from. Large: not to be kept. */
export interface EvenFit {
  /** Orders 2, 4, 6. */
  readonly base: HarmonicShapes;
  /** With as many even orders as the pattern needs. */
  readonly best: HarmonicShapes;
  readonly flat: FlatFit;
  /** Score test of isotropy. */
  readonly isotropy: ChiSquareTest;
  /** Of the orders 1, 2, 3, 4 and 6 at least. */
  readonly columns: HarmonicColumns;
}

/**
 * Fits even harmonics. Weights follow the fitted intensity, and under a mask harmonics are not independent, so that an
 * order which is there but left out pulls the others by far more than counting: of a pattern exp(10 cos^2) the orders up
 * to 6 alone give an alignment factor that is off by 0.06. Where an annulus is anisotropic, higher orders are therefore
 * fitted along: those up to 12 where the unmasked angles fix them well, and as long as the last of them shows. Where a
 * direction is masked on both sides of the beam each order costs much of the sigma; the first that does not show is then
 * kept, and its cost is what is not known of the masked directions.
 *
 * @returns undefined where the unmasked angles do not fix the harmonics
 */
export function fitEven(pixels: RingPixels): EvenFit | undefined {
  const columns = harmonicColumns(pixels, [...ODD_ORDERS, ...MEASURED_ORDERS]);
  const base = fitHarmonics(pixels, MEASURED_ORDERS, columns);
  const flat = flatFit(pixels);
  const isotropy = isotropyOf(flat, columns);
  if (base === undefined || isotropy === undefined) return undefined;
  if (!(isotropy.p < PROOF)) return { base, best: base, flat, isotropy, columns };
  return { base, best: extended(base), flat, isotropy, columns };
}

/** Score test of isotropy by the even harmonics (2, 4); undefined: the angles don't decide it. */
export function isotropyOf(flat: FlatFit, columns: HarmonicColumns): ChiSquareTest | undefined {
  return isotropyScore(flat, TESTED_ORDERS, columns);
}

function extended(base: HarmonicShapes): HarmonicShapes {
  const { pixels } = base;
  const usual = refitHarmonics(base, HIGHER_ORDERS, harmonicColumns(pixels, HIGHER_ORDERS));
  const isCheap = usual !== undefined && alignmentVariance(usual) <= CHEAP * CHEAP * alignmentVariance(base);
  let best = isCheap ? usual : base;
  for (let top = 2 * best.orders.length + 2; top <= HIGHEST; top += 2) {
    const next = refitHarmonics(best, [top], harmonicColumns(pixels, [top]));
    if (next === undefined) break;
    const isSeen = topOrder(next).p < SEEN;
    if (isSeen || !isCheap) best = next;
    if (!isSeen) break;
  }
  return best;
}

function alignmentVariance({ covariance }: HarmonicShapes): number {
  return covariance.get(0, 0) + covariance.get(1, 1);
}

/** Wald's test of the last order of a fit. */
function topOrder({ coefficients, covariance }: HarmonicShapes): ChiSquareTest {
  const at = coefficients.length - 2;
  const [a, b] = [coefficients[at]!, coefficients[at + 1]!];
  const [aa, ab, bb] = [covariance.get(at, at), covariance.get(at, at + 1), covariance.get(at + 1, at + 1)];
  return chiSquareTest((bb * a * a - 2 * ab * a * b + aa * b * b) / (aa * bb - ab * ab), 2);
}
