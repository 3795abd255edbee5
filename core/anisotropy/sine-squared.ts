import { atan2, cos, sin } from "../model/steady-math.ts";
import { columnsOf, harmonicColumns } from "./harmonic-fit.ts";
import type { RingPixels } from "./ring-pixels.ts";
import { type FittedShapes, fitShapes, refitShapes, type ShapeFit } from "./shape-fit.ts";

/**
 * I = A + B sin^2(phi - direction): a sample whose moments are saturated along a field in the detector plane scatters so,
 * with the nuclear part in A and the magnetic part in B; spin-misalignment and domains have other laws.
 * Source: Muehlbauer et al. 2019, Rev. Mod. Phys. 91, 015004 (from memory).
 */
export interface SineSquared {
  /** In the intensity's unit, mean over the annulus. */
  readonly a: number;
  readonly aSigma: number;
  readonly b: number;
  readonly bSigma: number;
  readonly covarianceAB: number;
  /** Direction of weakest scattering, rad, 0 <= direction < pi: the field's where B is magnetic. */
  readonly direction: number;
  /** Undefined: the direction was given. */
  readonly directionSigma: number | undefined;
  /** Of direction with A and B; undefined: the direction was given. */
  readonly covarianceDirection: { readonly a: number; readonly b: number } | undefined;
  /** sum (signal - law)^2/variance over pixels: whether the law holds at all. */
  readonly chi2: number;
  readonly degreesOfFreedom: number;
}

/**
 * Fits A, B and, where none is given, the direction, with the ratio B/A the same over the annulus.
 *
 * A + B sin^2 psi = (A + B/2)(1 - c cos 2 psi) with c = B/(2A + B), so that the harmonic of order 2 alone decides. A given
 * direction leaves one coefficient, and lets B be negative.
 *
 * @param field direction of the field, rad
 * @returns undefined where the unmasked angles do not fix the law
 */
export function fitSineSquared(pixels: RingPixels, field?: number): SineSquared | undefined {
  const columns = lawColumns(columnsOf(harmonicColumns(pixels, [2]), [2]), field);
  return lawOf(fitShapes(pixels, columns), field);
}

/** The same from a fit whose first columns are the harmonic of order 2. */
export function refitSineSquared(before: FittedShapes, field?: number): SineSquared | undefined {
  const columns = lawColumns(before.columns.slice(0, 2), field);
  const start = field === undefined ? before.coefficients.slice(0, 2) : new Float64Array(1);
  return lawOf(refitShapes(before, columns, start), field);
}

/** cos 2 phi and sin 2 phi, or -cos 2(phi - field) where the field is given. */
function lawColumns(order2: readonly Float64Array[], field: number | undefined): readonly Float64Array[] {
  if (field === undefined) return order2;
  const [c, s] = [cos(2 * field), sin(2 * field)];
  return [order2[0]!.map((cos2, i) => -(c * cos2 + s * order2[1]![i]!))];
}

function lawOf(fit: ShapeFit | undefined, field: number | undefined): SineSquared | undefined {
  if (fit === undefined) return undefined;
  if (field === undefined) return freeDirection(fit);
  const [contrast, variance] = [fit.coefficients[0]!, fit.covariance.get(0, 0)];
  return {
    ...strengths(fit, { contrast, variance, withLevel: fit.mean.covariance[0]! }),
    direction: wrapHalfTurn(field),
    directionSigma: undefined,
    covarianceDirection: undefined,
    chi2: fit.chi2,
    degreesOfFreedom: fit.degreesOfFreedom,
  };
}

function freeDirection(fit: ShapeFit): SineSquared {
  const [a2, b2] = [fit.coefficients[0]!, fit.coefficients[1]!];
  const contrast = Math.sqrt(a2 * a2 + b2 * b2);
  // Along and across (a2, b2): the first moves the contrast, the second turns the direction.
  const [u, v] = contrast > 0 ? [a2 / contrast, b2 / contrast] : [1, 0];
  const [aa, ab, bb] = [fit.covariance.get(0, 0), fit.covariance.get(0, 1), fit.covariance.get(1, 1)];
  const variance = u * u * aa + 2 * u * v * ab + v * v * bb;
  const across = v * v * aa - 2 * u * v * ab + u * u * bb;
  const mixed = u * v * (bb - aa) + (u * u - v * v) * ab;
  const [levelA, levelB] = [fit.mean.covariance[0]!, fit.mean.covariance[1]!];
  const made = strengths(fit, { contrast, variance, withLevel: u * levelA + v * levelB });
  const turned = 1 / (2 * contrast);
  const levelAcross = (u * levelB - v * levelA) * turned;
  const contrastAcross = mixed * turned;
  const level = fit.mean.value;
  return {
    ...made,
    direction: wrapHalfTurn(atan2(b2, a2) / 2 + Math.PI / 2),
    directionSigma: Math.sqrt(across) * turned,
    covarianceDirection: {
      a: (1 - contrast) * levelAcross - level * contrastAcross,
      b: 2 * (contrast * levelAcross + level * contrastAcross),
    },
    chi2: fit.chi2,
    degreesOfFreedom: fit.degreesOfFreedom,
  };
}

/** A = L (1 - c), B = 2 L c, with what L and c have in common. */
function strengths(
  { mean }: ShapeFit,
  {
    contrast: c,
    variance: cc,
    withLevel: lc,
  }: { readonly contrast: number; readonly variance: number; readonly withLevel: number },
) {
  const { value: level, variance: ll } = mean;
  const aa = (1 - c) * (1 - c) * ll + level * level * cc - 2 * level * (1 - c) * lc;
  const bb = 4 * (c * c * ll + level * level * cc + 2 * level * c * lc);
  return {
    a: level * (1 - c),
    aSigma: Math.sqrt(Math.max(0, aa)),
    b: 2 * level * c,
    bSigma: Math.sqrt(Math.max(0, bb)),
    covarianceAB: 2 * ((1 - c) * c * ll + level * (1 - 2 * c) * lc - level * level * cc),
  };
}

/** Mean of cos 2 psi over a sector of this half-width (rad) about psi = 0: sin(2 h)/(2 h). */
export function sectorDilution(halfWidth: number): number {
  const full = 2 * halfWidth;
  return full > 0 ? sin(full) / full : 1;
}

export interface WithSigma {
  readonly value: number;
  readonly sigma: number;
}

/**
 * A and B from the means over a sector along the field and one across it, both of the same half-width (rad):
 *
 *   B = (I_across - I_along)/dilution,  A = (I_along + I_across)/2 - B/2
 *
 * The plain difference is low by the dilution. The two means are taken as independent.
 */
export function sineSquaredFromSectors(
  along: WithSigma,
  across: WithSigma,
  halfWidth: number,
): { readonly a: WithSigma; readonly b: WithSigma } {
  const inverse = 1 / sectorDilution(halfWidth);
  const [nearShare, farShare] = [(1 + inverse) / 2, (1 - inverse) / 2];
  return {
    a: {
      value: nearShare * along.value + farShare * across.value,
      sigma: Math.sqrt(square(nearShare * along.sigma) + square(farShare * across.sigma)),
    },
    b: {
      value: (across.value - along.value) * inverse,
      sigma: Math.sqrt(square(along.sigma) + square(across.sigma)) * inverse,
    },
  };
}

function square(value: number): number {
  return value * value;
}

/** An axis as 0 <= angle < pi, rad. */
export function wrapHalfTurn(angle: number): number {
  const wrapped = ((angle % Math.PI) + Math.PI) % Math.PI;
  return wrapped >= Math.PI ? 0 : wrapped;
}
