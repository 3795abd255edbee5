import { inverse, Matrix } from "ml-matrix";
import { atan2, cos, sin } from "../model/steady-math.ts";
import { type ChiSquareTest, chiSquareTest } from "./chi-square.ts";
import { type EvenFit, fitEven, isotropyOf, MEASURED_ORDERS, ODD_ORDERS } from "./even-fit.ts";
import { type HarmonicFit, harmonicColumns, isotropyScore, refitHarmonics } from "./harmonic-fit.ts";
import {
  hermansP2,
  maierSaupeAlignment,
  maierSaupeP2,
  maierSaupeStrength,
  patternStrength,
  rodP2,
} from "./orientation.ts";
import type { RingPixels } from "./ring-pixels.ts";
import { flatFit, likelihoodRatio } from "./shape-fit.ts";
import { refitSineSquared, type SineSquared, wrapHalfTurn } from "./sine-squared.ts";

export interface Harmonic {
  readonly order: number;
  /** sqrt(a^2 + b^2), relative to the mean; biased up by chance where it is not large against its sigma. */
  readonly amplitude: number;
  readonly amplitudeSigma: number;
  /** Direction of its nearest maximum, rad, 0 <= phase < 2 pi/order. */
  readonly phase: number;
}

export interface MeasuredStrength {
  readonly value: number;
  readonly sigma: number;
}

/** How anisotropic an annulus is. Undefined: the unmasked angles do not decide it, or there is no intensity. */
export interface AnisotropyMeasures {
  readonly pixels: number;
  /** Direction of strongest scattering, rad, 0 <= axis < pi, and its standard deviation. */
  readonly axis: number;
  readonly axisSigma: number;
  /** A_f = integral of I cos 2(phi - axis) over integral of I; 0..1. */
  readonly alignment: number;
  readonly alignmentSigma: number;
  /** Second Legendre moment of the intensity about the axis of strongest scattering. */
  readonly p2: number;
  readonly p2Sigma: number;
  /** P2 of thin rods, whose director stands across the axis; undefined where their law does not hold. */
  readonly p2Rods: MeasuredStrength | undefined;
  /** m of exp(m cos^2 beta) that gives `p2Rods`, and of the pattern exp(m cos^2 phi) that gives `alignment`. */
  readonly maierSaupe: {
    readonly rods: MeasuredStrength | undefined;
    readonly pattern: MeasuredStrength | undefined;
  };
  /** I = A + B sin^2(phi - direction): for magnetised samples. */
  readonly sineSquared: SineSquared | undefined;
  /** Chance that an isotropic sample shows even harmonics (2, 4) as large: that of `isotropyScore`. */
  readonly pIsotropic: number;
  /** Rao's score test of the harmonics 2 and 4: right at any count level. */
  readonly isotropyScore: ChiSquareTest;
  /** Likelihood ratio of the fit with the harmonics 2, 4 and 6 against none. */
  readonly likelihoodRatio: ChiSquareTest;
  /** How well the fit describes the pixels, or cells of a degree where a ring has many pixels. */
  readonly goodness: ChiSquareTest;
  /** Chance that a right centre shows odd harmonics (1, 3) as large. */
  readonly pCentred: number;
  /** Orders 2, 4, 6 of the fit; 1 and 3 where the unmasked angles fix them. */
  readonly harmonics: readonly Harmonic[];
  /** Of even orders: as many as the pattern needs. */
  readonly fit: HarmonicFit;
}

/** Mean intensity over its sigma. */
const LEAST_SIGNIFICANCE = 3;

/**
 * Measures of an annulus. Definitions: alignment factor as Walker and Wagner 1996, Macromolecules 29, 2298 (from
 * memory), taken about the direction of strongest scattering. Rods scatter across themselves: their axis is `axis` + 90.
 *
 * Elastic scattering looks the same at phi and phi + 180 deg, so that the measures come from even orders alone: each
 * masked direction is then seen on the other side. Odd orders only judge the centre.
 *
 * @param field direction of the magnetic field, rad, where it is known
 */
export function measureAnisotropy(pixels: RingPixels, field?: number): AnisotropyMeasures | undefined {
  const fitted = fitEven(pixels);
  return fitted && measuresOfFit(fitted, field);
}

/** The measures from the fit of the even orders to the pixels. */
export function measuresOfFit(fitted: EvenFit, field?: number): AnisotropyMeasures | undefined {
  const { base, isotropy } = fitted;
  const { pixels, columns: _columns, cells: _cells, ...fit } = fitted.best;
  const odd = oddPart(fitted);
  if (odd === undefined) return undefined;
  // Harmonics are relative to the mean: beside a mean that is not there they mean nothing.
  if (!(fit.mean.value > LEAST_SIGNIFICANCE * Math.sqrt(fit.mean.variance))) return undefined;
  const [a2, b2] = pair(fit, 2);
  const amplitude = Math.sqrt(a2 * a2 + b2 * b2);
  const across = acrossSigma(fit, 2, a2, b2);
  const alignmentSigma = amplitudeSigma(alongSigma(fit, 2, a2, b2), across, amplitude) / 2;
  return {
    pixels: pixels.count,
    axis: axisOf(fit.coefficients),
    axisSigma: across / (2 * amplitude),
    alignment: amplitude / 2,
    alignmentSigma,
    ...orientation(fit, amplitude / 2, alignmentSigma),
    sineSquared: refitSineSquared(base, field),
    pIsotropic: isotropy.p,
    isotropyScore: isotropy,
    likelihoodRatio: chiSquareTest(likelihoodRatio(base), base.coefficients.length),
    goodness: chiSquareTest(fit.chi2, fit.degreesOfFreedom),
    pCentred: odd.p,
    harmonics: [...odd.harmonics, ...MEASURED_ORDERS.map((order) => harmonic(fit, order))].sort(
      (one, other) => one.order - other.order,
    ),
    fit,
  };
}

/**
 * The odd orders, fitted beside the even ones, and the chance that counting alone makes them as large. Where nothing is
 * anisotropic that is a score test, right at any count level; else the fitted odd orders against their covariance, since
 * a mask would show even orders as odd ones.
 */
function oddPart({
  best,
  flat,
  columns,
}: EvenFit): { readonly p: number; readonly harmonics: readonly Harmonic[] } | undefined {
  const score = isotropyScore(flat, ODD_ORDERS, columns);
  if (score === undefined) return undefined;
  const all = refitHarmonics(best, ODD_ORDERS, columns);
  const harmonics = all === undefined ? [] : ODD_ORDERS.map((order) => harmonic(all, order));
  const isExtended = best.orders.length > MEASURED_ORDERS.length;
  const test = all !== undefined && isExtended ? waldTest(all, 2 * ODD_ORDERS.length) : score;
  return { p: test.p, harmonics };
}

/** Whether the last `count` coefficients of a fit differ from 0. */
function waldTest({ coefficients, covariance }: HarmonicFit, count: number): ChiSquareTest {
  const [first, last] = [coefficients.length - count, coefficients.length - 1];
  const values = Matrix.columnVector(coefficients.subarray(first));
  const information = inverse(covariance.subMatrix(first, last, first, last));
  return chiSquareTest(values.transpose().mmul(information).mmul(values).get(0, 0), count);
}

/** P2 and what it says about the particles, each with its sigma. */
function orientation(fit: HarmonicFit, alignment: number, alignmentSigma: number) {
  // The axis moves with the coefficients, and what P2 owes to that is part of its scatter.
  const about = (turn: number) => (coefficients: Float64Array) =>
    hermansP2(aboutAxis(fit.orders, coefficients, axisOf(coefficients) + turn));
  const p2 = about(0);
  const aboutDirector = about(Math.PI / 2);
  const rods = rodP2(aboutDirector(fit.coefficients));
  const p2Rods = rods === undefined ? undefined : { value: rods, sigma: 2 * propagated(fit, aboutDirector) };
  return {
    p2: p2(fit.coefficients),
    p2Sigma: propagated(fit, p2),
    p2Rods,
    maierSaupe: {
      rods: p2Rods && strength(maierSaupeP2, maierSaupeStrength(p2Rods.value), p2Rods.sigma),
      pattern: strength(maierSaupeAlignment, patternStrength(alignment), alignmentSigma),
    },
  };
}

/** The strength m of a law, with the sigma of the law's value divided by its slope. */
function strength(law: (m: number) => number, m: number | undefined, sigma: number): MeasuredStrength | undefined {
  if (m === undefined) return undefined;
  const step = 1e-3 * Math.max(1, m);
  return { value: m, sigma: (2 * step * sigma) / (law(m + step) - law(m - step)) };
}

/** Score test of isotropy by the even harmonics (2, 4); undefined: the angles don't decide it. */
export function isotropyTest(pixels: RingPixels): ChiSquareTest | undefined {
  return isotropyOf(flatFit(pixels), harmonicColumns(pixels, MEASURED_ORDERS));
}

/** A direction that is known no better than one drawn at random (pi/sqrt 12) is none. */
export function hasAxis({ axisSigma }: Pick<AnisotropyMeasures, "axisSigma">): boolean {
  return axisSigma < Math.PI / Math.sqrt(12);
}

/** Direction of strongest scattering, from coefficients that begin with order 2. */
function axisOf(coefficients: Float64Array): number {
  return wrapHalfTurn(atan2(coefficients[1]!, coefficients[0]!) / 2);
}

function harmonic(fit: HarmonicFit, order: number): Harmonic {
  const [a, b] = pair(fit, order);
  const turn = (2 * Math.PI) / order;
  const phase = atan2(b, a) / order;
  return {
    order,
    amplitude: Math.sqrt(a * a + b * b),
    amplitudeSigma: alongSigma(fit, order, a, b),
    phase: ((phase % turn) + turn) % turn,
  };
}

function pair(fit: HarmonicFit, order: number): [number, number] {
  const at = 2 * fit.orders.indexOf(order);
  return [fit.coefficients[at]!, fit.coefficients[at + 1]!];
}

function block(fit: HarmonicFit, order: number): [number, number, number] {
  const at = 2 * fit.orders.indexOf(order);
  const c: Matrix = fit.covariance;
  return [c.get(at, at), c.get(at, at + 1), c.get(at + 1, at + 1)];
}

/** Standard deviation of (a, b) along its own direction: that of the amplitude. */
function alongSigma(fit: HarmonicFit, order: number, a: number, b: number): number {
  const [aa, ab, bb] = block(fit, order);
  const length2 = a * a + b * b;
  return length2 > 0 ? Math.sqrt((a * a * aa + 2 * a * b * ab + b * b * bb) / length2) : Math.sqrt((aa + bb) / 2);
}

/**
 * Of an amplitude sqrt(a^2 + b^2), to second order: scatter across it lengthens it by across^2/(2 amplitude), which itself
 * scatters by across^2/(sqrt(2) amplitude). Where directions are masked on both sides of the beam, that may be most of it.
 */
function amplitudeSigma(along: number, across: number, amplitude: number): number {
  const ratio = across / amplitude;
  return Math.sqrt(along * along + across * across * Math.min(1, (ratio * ratio) / 2));
}

/** Standard deviation of (a, b) across its own direction: amplitude times that of the angle. */
function acrossSigma(fit: HarmonicFit, order: number, a: number, b: number): number {
  const [aa, ab, bb] = block(fit, order);
  const length2 = a * a + b * b;
  return length2 > 0 ? Math.sqrt((b * b * aa - 2 * a * b * ab + a * a * bb) / length2) : Math.sqrt((aa + bb) / 2);
}

/** Even cosine coefficients about `axis`; the sine parts average out over +psi and -psi. */
function aboutAxis(orders: readonly number[], coefficients: Float64Array, axis: number): Map<number, number> {
  const even = new Map<number, number>();
  for (const [k, n] of orders.entries())
    if (n % 2 === 0) even.set(n, coefficients[2 * k]! * cos(n * axis) + coefficients[2 * k + 1]! * sin(n * axis));
  return even;
}

/** Standard deviation of a function of the coefficients by its numerical gradient and their covariance. */
function propagated(fit: HarmonicFit, quantity: (coefficients: Float64Array) => number): number {
  const size = fit.coefficients.length;
  const gradient = Float64Array.from(fit.coefficients, (value, n) => {
    const step = 1e-5;
    const [up, down] = [fit.coefficients.slice(), fit.coefficients.slice()];
    up[n] = value + step;
    down[n] = value - step;
    return (quantity(up) - quantity(down)) / (2 * step);
  });
  let variance = 0;
  for (let n = 0; n < size; n++)
    for (let m = 0; m < size; m++) variance += gradient[n]! * gradient[m]! * fit.covariance.get(n, m);
  return Math.sqrt(Math.max(0, variance));
}
