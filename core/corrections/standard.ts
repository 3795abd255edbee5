import { type CurvePoints, pointsInRange, requireSigma } from "../curves/curve-points.ts";
import { interpolateCurve } from "../curves/interpolate.ts";
import { fitScale } from "../curves/merge.ts";
import type { Measured } from "../model/measured.ts";
import { failure, type Result, success } from "../model/result.ts";

export interface StandardFit extends Required<Measured> {
  readonly points: number;
  /** Reduced chi-square of factor x measured against the reference: shapes that differ show here. */
  readonly chi2: number;
  readonly warnings: readonly string[];
}

const LEAST_POINTS = 3;

/**
 * Factor that brings a measured curve of a standard to its reference curve: k minimising
 * sum (R - k I)^2 / (s_R^2 + k^2 s_I^2). The reference is interpolated at the measured Q; where it gives no sigma, or 0,
 * it is taken as exact. Points outside it are left out.
 * @returns the plan's corrections.absolute.value with its sigma
 */
export function fitStandard(
  measured: CurvePoints,
  reference: CurvePoints,
  range: { readonly qMin: number; readonly qMax: number } = { qMin: 0, qMax: Infinity },
): Result<StandardFit> {
  const sigma = requireSigma(measured, "the measured standard");
  if (!sigma.ok) return sigma;
  const shared = pointsInRange(measured, range.qMin, range.qMax).flatMap((i) => {
    const at = interpolateCurve(reference, measured.q[i]!);
    const own = sigma.value[i]!;
    return at === undefined || !Number.isFinite(at.intensity) || !(own > 0)
      ? []
      : [
          {
            intensity: measured.intensity[i]!,
            sigma: own,
            at: { ...at, sigma: Number.isFinite(at.sigma) ? at.sigma : 0 },
          },
        ];
  });
  if (shared.length < LEAST_POINTS)
    return failure(
      "inconsistent",
      `the curves share ${shared.length} points with uncertainties; a factor needs at least ${LEAST_POINTS}`,
    );
  const fit = fitScale(
    { intensity: shared.map(({ at }) => at.intensity), sigma: shared.map(({ at }) => at.sigma) },
    { intensity: shared.map(({ intensity }) => intensity), sigma: shared.map((point) => point.sigma) },
    false,
  );
  if (!fit.ok) return fit;
  const { scale, scaleSigma, chi2, degreesOfFreedom, warnings } = fit.value;
  if (!(scale > 0)) return failure("inconsistent", `the standard's factor would be ${scale}: check both curves`);
  return success({
    value: scale,
    sigma: scaleSigma,
    points: shared.length,
    chi2: chi2 / degreesOfFreedom,
    warnings,
  });
}

/** Scattering of a slab that sends everything it does not let through evenly into all directions: (1 - T)/(4 pi T d), 1/cm. */
export function isotropicLevel(transmission: number, thicknessCm: number): number {
  if (!(transmission > 0 && transmission <= 1 && thicknessCm > 0))
    throw new RangeError(`transmission ${transmission} and thickness ${thicknessCm} cm`);
  return (1 - transmission) / (4 * Math.PI * transmission * thicknessCm);
}

/** Flat scattering of bound incoherent scatterers: N sigma / (4 pi), 1/cm. @param density 1e24/cm^3 @param sigma barn */
export function incoherentLevel(density: number, sigma: number): number {
  return (density * sigma) / (4 * Math.PI);
}
