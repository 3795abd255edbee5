import type { LedgerEntry } from "../model/ledger.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { CurvePoints } from "./curve-points.ts";
import { mergeCurves, type ScaleFit } from "./merge.ts";
import { ScaleCovariance } from "./scale-covariance.ts";

export interface NamedPoints {
  readonly name: string;
  readonly points: CurvePoints;
}

export interface ManyMerged {
  readonly points: CurvePoints & { readonly sigma: Float64Array };
  /** One a curve after the first: what brought it onto those before it. */
  readonly fits: readonly (ScaleFit & { readonly name: string })[];
  readonly steps: readonly LedgerEntry[];
  readonly warnings: readonly string[];
}

/**
 * Brings every curve onto those before it, one after the other; the first keeps its scale. A curve that is scaled onto a
 * scaled one inherits what that scale is uncertain by: sigmas and covariance of the fits hold it, to first order. The
 * sigma of the points does not: a scale moves the points of its curve together.
 */
export function mergeMany(
  curves: readonly NamedPoints[],
  range: { readonly qMin: number; readonly qMax: number; readonly withConstant: boolean },
): Result<ManyMerged> {
  const [first, ...others] = curves;
  if (first === undefined || others.length === 0) return failure("missing", "merging needs two curves or more");
  let points = first.points;
  let origins: readonly number[] = Array.from(first.points.q, () => 0);
  const fits: (ScaleFit & { readonly name: string })[] = [];
  const parameters = new ScaleCovariance();
  for (const [k, { name, points: other }] of others.entries()) {
    const merged = mergeCurves(points, other, range);
    if (!merged.ok) return { ok: false, fault: { ...merged.fault, message: `${name}: ${merged.fault.message}` } };
    const { fit, origin, response, ...joined } = merged.value;
    const levers = response.map((moves) => {
      const by = fits[origins[moves.point]! - 1];
      const measured = by === undefined ? 0 : (points.intensity[moves.point]! - by.constant) / by.scale;
      return { ...moves, curve: origins[moves.point]!, measured };
    });
    fits.push({ ...fit, ...parameters.add(fit, levers), name });
    points = joined;
    const before = origins;
    let next = 0;
    origins = Array.from(origin, (from) => (from === 0 ? before[next++]! : k + 1));
  }
  const { sigma } = points;
  if (sigma === undefined) throw new TypeError("merged curves have uncertainties");
  return success({
    points: { ...points, sigma },
    fits,
    steps: fits.map((fit) => stepOf(fit, first.name, range)),
    warnings: fits.flatMap(({ name, warnings }) => warnings.map((warning) => `${name}: ${warning}`)),
  });
}

function stepOf(
  { name, scale, scaleSigma, constant, constantSigma, chi2, degreesOfFreedom, warnings }: ManyMerged["fits"][number],
  reference: string,
  { qMin, qMax, withConstant }: { readonly qMin: number; readonly qMax: number; readonly withConstant: boolean },
): LedgerEntry {
  return {
    step: "merge",
    status: "applied",
    parameters: {
      curve: name,
      onto: reference,
      scale,
      scale_sigma: scaleSigma,
      ...(withConstant && { constant, constant_sigma: constantSigma }),
      chi2,
      degreesOfFreedom,
      qMin_1A: qMin,
      ...(qMax < Number.POSITIVE_INFINITY && { qMax_1A: qMax }),
    },
    sources: { scale: "weighted least squares over the shared points" },
    relativeSigma: scaleSigma / Math.abs(scale),
    warnings,
  };
}
