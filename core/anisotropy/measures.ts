import lowerGamma from "@stdlib/math-base-special-gammainc";
import type { Matrix } from "ml-matrix";
import { atan2, cos, sin } from "../model/steady-math.ts";
import { fitHarmonics, type HarmonicFit, isotropyScore } from "./harmonic-fit.ts";
import { hermansP2, maierSaupeStrength, patternStrength, rodP2 } from "./orientation.ts";
import type { RingPixels } from "./ring-pixels.ts";

export interface Harmonic {
  readonly order: number;
  /** sqrt(a^2 + b^2), relative to the mean; biased up by chance where it is not large against its sigma. */
  readonly amplitude: number;
  readonly amplitudeSigma: number;
  /** Direction of its nearest maximum, rad, 0 <= phase < 2 pi/order. */
  readonly phase: number;
}

/** How anisotropic an annulus is. Undefined: the unmasked angles do not decide it. */
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
  readonly p2Rods: number | undefined;
  /** m of exp(m cos^2 beta) that gives `p2Rods`, and of the pattern exp(m cos^2 phi) that gives `alignment`. */
  readonly maierSaupe: { readonly rods: number | undefined; readonly pattern: number | undefined };
  /** I = A + B sin^2(phi - direction) with the direction of weakest scattering: for magnetised samples. */
  readonly sineSquared: { readonly a: number; readonly aSigma: number; readonly b: number; readonly bSigma: number };
  /** Chance that an isotropic sample shows even harmonics (2, 4) as large. */
  readonly pIsotropic: number;
  /** Chance that a right centre shows odd harmonics (1, 3) as large. */
  readonly pCentred: number;
  /** Orders 2, 4, 6 of the fit; 1 and 3 where the unmasked angles fix them. */
  readonly harmonics: readonly Harmonic[];
  readonly fit: HarmonicFit;
}

/**
 * Elastic scattering looks the same at phi and phi + 180 deg, so that the measures come from even orders alone: each
 * masked direction is then seen on the other side. Odd orders only judge the centre.
 */
const MEASURED_ORDERS = [2, 4, 6] as const;
const ALL_ORDERS = [1, 2, 3, 4, 6] as const;
const EVEN = [2, 4] as const;
const ODD = [1, 3] as const;

/**
 * Measures of an annulus. Definitions: alignment factor as Walker and Wagner 1996, Macromolecules 29, 2298 (from
 * memory), taken about the direction of strongest scattering. Rods scatter across themselves: their axis is `axis` + 90.
 */
export function measureAnisotropy(pixels: RingPixels): AnisotropyMeasures | undefined {
  const fit = fitHarmonics(pixels, MEASURED_ORDERS);
  const all = fitHarmonics(pixels, ALL_ORDERS);
  const pIsotropic = isotropyChance(pixels);
  const odd = isotropyScore(pixels, ODD);
  if (fit === undefined || pIsotropic === undefined || odd === undefined) return undefined;
  const [a2, b2] = pair(fit, 2);
  const amplitude = Math.hypot(a2, b2);
  const axis = wrapHalfTurn(atan2(b2, a2) / 2);
  const amplitudeSigma = alongSigma(fit, 2, a2, b2);
  const p2OfAxis = (coefficients: Float64Array) => hermansP2(aboutAxis(fit.orders, coefficients, axis));
  const p2 = p2OfAxis(fit.coefficients);
  const aboutDirector = hermansP2(aboutAxis(fit.orders, fit.coefficients, axis + Math.PI / 2));
  const p2Rods = rodP2(aboutDirector);
  const level = meanLevel(fit, pixels);
  return {
    pixels: pixels.count,
    axis,
    axisSigma: acrossSigma(fit, 2, a2, b2) / (2 * amplitude),
    alignment: amplitude / 2,
    alignmentSigma: amplitudeSigma / 2,
    p2,
    p2Sigma: propagated(fit, p2OfAxis),
    p2Rods,
    maierSaupe: {
      rods: p2Rods === undefined ? undefined : maierSaupeStrength(p2Rods),
      pattern: patternStrength(amplitude / 2),
    },
    sineSquared: sineSquared(level, amplitude, amplitudeSigma),
    pIsotropic,
    pCentred: upperTail(odd.score, odd.degreesOfFreedom),
    harmonics: [
      ...(all === undefined ? [] : ODD.map((order) => harmonic(all, order))),
      ...MEASURED_ORDERS.map((order) => harmonic(fit, order)),
    ].sort((one, other) => one.order - other.order),
    fit,
  };
}

/** Chance that an isotropic sample shows even harmonics (2, 4) as large; undefined: the angles don't decide it. */
export function isotropyChance(pixels: RingPixels): number | undefined {
  const even = isotropyScore(pixels, EVEN);
  return even === undefined ? undefined : upperTail(even.score, even.degreesOfFreedom);
}

/** P(chi-square with `degrees` degrees of freedom >= value). */
export function upperTail(value: number, degrees: number): number {
  return lowerGamma(Math.max(0, value) / 2, degrees / 2, true, true);
}

function harmonic(fit: HarmonicFit, order: number): Harmonic {
  const [a, b] = pair(fit, order);
  const turn = (2 * Math.PI) / order;
  const phase = atan2(b, a) / order;
  return {
    order,
    amplitude: Math.hypot(a, b),
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

/** Mean intensity over a full turn of the annulus, each ring weighted by its pixels, with its standard deviation. */
function meanLevel(fit: HarmonicFit, pixels: RingPixels): { readonly value: number; readonly sigma: number } {
  const weights = new Float64Array(pixels.rings);
  for (let i = 0; i < pixels.count; i++) weights[pixels.ring[i]!]!++;
  let [sum, variance] = [0, 0];
  for (let r = 0; r < pixels.rings; r++) {
    if (weights[r] === 0 || !Number.isFinite(fit.levelSigma[r]!)) continue;
    const share = weights[r]! / pixels.count;
    sum += share * fit.levels[r]!;
    const sigma = share * fit.levelSigma[r]!;
    variance += sigma * sigma;
  }
  return { value: sum, sigma: Math.sqrt(variance) };
}

/** A + B sin^2 psi about the direction of weakest scattering = level (1 - c cos 2 psi): B = 2 c level, A = level - B/2. */
function sineSquared(level: { readonly value: number; readonly sigma: number }, amplitude: number, sigma: number) {
  const b = 2 * amplitude * level.value;
  return {
    a: level.value * (1 - amplitude),
    aSigma: Math.hypot((1 - amplitude) * level.sigma, level.value * sigma),
    b,
    bSigma: 2 * Math.hypot(amplitude * level.sigma, level.value * sigma),
  };
}

function wrapHalfTurn(angle: number): number {
  const wrapped = ((angle % Math.PI) + Math.PI) % Math.PI;
  return wrapped >= Math.PI ? 0 : wrapped;
}
