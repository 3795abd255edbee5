import { failure, type Result, success } from "../model/result.ts";
import { exp, ln } from "../model/steady-math.ts";
import { type CurvePoints, pointsInRange, requireSigma } from "./curve-points.ts";
import { fitStraightLine, type StraightLine } from "./straight-line.ts";

/** What a quick look shows beside its numbers: where it was fitted and how far the points lie from it. */
export interface QuickLookFit {
  readonly points: number;
  readonly qMin: number;
  readonly qMax: number;
  readonly chi2: number;
  readonly degreesOfFreedom: number;
  /** Points of the range with I <= 0, which have no logarithm and were left out. */
  readonly skipped: number;
  /** Per fitted point: Q, fitted intensity, (measured - fitted)/sigma. */
  readonly q: Float64Array;
  readonly fitted: Float64Array;
  readonly residuals: Float64Array;
  readonly warnings: readonly string[];
}

export interface GuinierFit extends QuickLookFit {
  /** Radius of gyration and its standard deviation, angstrom. */
  readonly rg: number;
  readonly rgSigma: number;
  readonly forwardIntensity: number;
  readonly forwardIntensitySigma: number;
  /** Largest Q times Rg; the law holds up to about 1.3 for compact particles. */
  readonly qRgMax: number;
}

/** Common practice, no source: beyond this the law is off by several per cent for compact particles. */
const GUINIER_LIMIT = 1.3;

/**
 * Guinier's law, ln I = ln I(0) - Q^2 Rg^2/3, weighted by (I/sigma)^2. Source: Guinier's approximation for Q Rg < 1.3,
 * as every textbook on small-angle scattering has it.
 */
export function fitGuinier(curve: CurvePoints, qMin: number, qMax: number): Result<GuinierFit> {
  const fit = fitLogarithm(curve, qMin, qMax, (q) => q * q);
  if (!fit.ok) return fit;
  const { line, look } = fit.value;
  if (!(line.slope < 0))
    return failure("out-of-range", "ln I does not fall with Q² in this range, so it gives no radius of gyration");
  const rg = Math.sqrt(-3 * line.slope);
  const qRgMax = look.qMax * rg;
  const warnings = [...look.warnings];
  if (qRgMax > GUINIER_LIMIT)
    warnings.push(`the range reaches Q Rg = ${qRgMax.toFixed(2)}; the law holds up to about ${GUINIER_LIMIT}`);
  return success({
    ...look,
    warnings,
    rg,
    rgSigma: (3 * line.slopeSigma) / (2 * rg),
    forwardIntensity: exp(line.intercept),
    forwardIntensitySigma: exp(line.intercept) * line.interceptSigma,
    qRgMax,
  });
}

export interface PorodFit extends QuickLookFit {
  /** I = constant * Q^-exponent. */
  readonly exponent: number;
  readonly exponentSigma: number;
  /** In the unit of I times angstrom^-exponent. */
  readonly constant: number;
  readonly constantSigma: number;
}

/** A power law, ln I = ln K - n ln Q, weighted by (I/sigma)^2; n is 4 for smooth surfaces (Porod's law). */
export function fitPorod(curve: CurvePoints, qMin: number, qMax: number): Result<PorodFit> {
  const fit = fitLogarithm(curve, qMin, qMax, ln);
  if (!fit.ok) return fit;
  const { line, look } = fit.value;
  const constant = exp(line.intercept);
  return success({
    ...look,
    exponent: -line.slope,
    exponentSigma: line.slopeSigma,
    constant,
    constantSigma: constant * line.interceptSigma,
  });
}

function fitLogarithm(
  curve: CurvePoints,
  qMin: number,
  qMax: number,
  abscissa: (q: number) => number,
): Result<{ readonly line: StraightLine; readonly look: QuickLookFit }> {
  const sigma = requireSigma(curve, "the curve");
  if (!sigma.ok) return sigma;
  const inside = pointsInRange(curve, qMin, qMax);
  const usable = inside.filter((i) => curve.intensity[i]! > 0 && sigma.value[i]! > 0 && curve.q[i]! > 0);
  const skipped = inside.length - usable.length;
  const line = fitStraightLine(
    usable.map((i) => abscissa(curve.q[i]!)),
    usable.map((i) => ln(curve.intensity[i]!)),
    usable.map((i) => {
      const significance = curve.intensity[i]! / sigma.value[i]!;
      return significance * significance;
    }),
  );
  if (!line.ok) return line;
  const { intercept, slope, chi2, degreesOfFreedom } = line.value;
  const fitted = Float64Array.from(usable, (i) => exp(intercept + slope * abscissa(curve.q[i]!)));
  return success({
    line: line.value,
    look: {
      points: usable.length,
      qMin: curve.q[usable[0]!]!,
      qMax: curve.q[usable[usable.length - 1]!]!,
      chi2,
      degreesOfFreedom,
      skipped,
      q: Float64Array.from(usable, (i) => curve.q[i]!),
      fitted,
      residuals: Float64Array.from(usable, (i, k) => (curve.intensity[i]! - fitted[k]!) / sigma.value[i]!),
      warnings: skipped > 0 ? [`${skipped} points with I <= 0 have no logarithm and were left out`] : [],
    },
  });
}
