import { differenceUnit, mergedUnit, type NamedUnit } from "../../core/curves/common-unit.ts";
import { readable } from "../../core/model/numbers.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { DerivedCurve } from "../../core/report/derived-curve.ts";
import type { CurveTools, ToolName } from "../worker/curve-bench.ts";
import type { ChosenCurve } from "./curve-choices.ts";
import type { MadeCurve, RebinChoice } from "./curves-store.ts";

/** Asks the worker for a tool. */
export type Work = <T extends ToolName>(tool: T, ask: CurveTools[T]["ask"]) => Promise<Result<CurveTools[T]["answer"]>>;

export interface QRange {
  readonly qMin: number;
  readonly qMax: number;
}

/** Every curve scaled onto the first, by a scale alone or with a constant, and all points put together. */
export async function merge(
  work: Work,
  curves: readonly ChosenCurve[],
  { withConstant, range }: { readonly withConstant: boolean; readonly range: QRange },
): Promise<Result<MadeCurve>> {
  const unit = mergedUnit(curves.map(named));
  if (!unit.ok) return unit;
  const points = curves.map((curve) => ({ name: curve.label, points: bare(curve.points) }));
  const merged = await work("merge", { curves: points, withConstant, ...range });
  if (!merged.ok) return merged;
  const { fits, steps, warnings } = merged.value;
  return success({
    words: `${curves.length} curves joined, ${merged.value.points.q.length} points, on the scale of ${curves[0]?.label}`,
    fits: fits.map(({ name, scale, scaleSigma, constant, constantSigma, chi2, degreesOfFreedom }) => ({
      name,
      scale: { value: scale, sigma: scaleSigma },
      ...(withConstant && { constant: { value: constant, sigma: constantSigma } }),
      reducedChi2: chi2 / degreesOfFreedom,
      shared: degreesOfFreedom + (withConstant ? 2 : 1),
    })),
    warnings,
    curve: derived(curves, "merged", { ...merged.value.points, steps, warnings, unit: unit.value }),
  });
}

/** One curve brought onto another by one factor. */
export async function scale(
  work: Work,
  { curve, onto, range }: { readonly curve: ChosenCurve; readonly onto: ChosenCurve; readonly range: QRange },
): Promise<Result<MadeCurve>> {
  const scaled = await work("scale", { curve: bare(curve.points), reference: bare(onto.points), ...range });
  if (!scaled.ok) return scaled;
  const { fit, points } = scaled.value;
  const sigma = withSigmas(points, [curve]);
  if (!sigma.ok) return sigma;
  const parameters = { curve: curve.label, factor: fit.value, factor_sigma: fit.sigma, onto: onto.label };
  const step = {
    ...entry("scale", parameters, fit.warnings),
    sources: { factor: "weighted least squares over the shared points" },
    relativeSigma: fit.sigma / fit.value,
  };
  return success({
    words: `${curve.label} brought onto ${onto.label}; the factor's σ moves all points together and is not in theirs`,
    fits: [
      {
        name: curve.label,
        scale: { value: fit.value, sigma: fit.sigma },
        reducedChi2: fit.chi2,
        shared: fit.points,
      },
    ],
    warnings: fit.warnings,
    curve: derived([curve, onto], "scaled", {
      ...sigma.value,
      steps: [step],
      warnings: fit.warnings,
      unit: onto.unit === "not known" ? curve.unit : onto.unit,
    }),
  });
}

/** One curve less so many times another. */
export async function subtract(
  work: Work,
  { curve, other, factor }: { readonly curve: ChosenCurve; readonly other: ChosenCurve; readonly factor: number },
): Promise<Result<MadeCurve>> {
  const unit = differenceUnit(named(curve), named(other));
  if (!unit.ok) return unit;
  const taken = await work("subtract", { curve: bare(curve.points), other: bare(other.points), factor });
  if (!taken.ok) return taken;
  const points = withSigmas(taken.value.points, [curve, other]);
  if (!points.ok) return points;
  const { leftOut } = taken.value;
  const warnings =
    leftOut > 0 ? [`${leftOut} points of ${curve.label} lie outside ${other.label} and are left out`] : [];
  const parameters = { curve: curve.label, takenOff: other.label, factor, points: points.value.q.length, leftOut };
  const times = factor === 1 ? "" : `${readable(factor)} × `;
  return success({
    words: `${curve.label} − ${times}${other.label}: ${points.value.q.length} points, ${sigmaWords(points.value, unit.value)}`,
    fits: [],
    warnings,
    curve: derived([curve, other], "difference", {
      ...points.value,
      steps: [entry("subtract", parameters, warnings)],
      warnings,
      unit: unit.value,
    }),
  });
}

/** Fewer points of one curve. */
export async function rebin(
  work: Work,
  { curve, bins }: { readonly curve: ChosenCurve; readonly bins: RebinChoice & Partial<QRange> },
): Promise<Result<MadeCurve>> {
  const made = await work("rebin", { curve: bare(curve.points), bins });
  if (!made.ok) return made;
  const { points, edges } = made.value;
  if (points.q.length === 0) return failure("out-of-range", `no point of ${curve.label} lies in these bins`);
  const sigma = withSigmas(points, [curve]);
  if (!sigma.ok) return sigma;
  const before = curve.points.q.length;
  const [from, to] = [edges[0] ?? Number.NaN, edges.at(-1) ?? Number.NaN];
  const outside = curve.points.q.reduce((count, q) => count + (q >= from && q <= to ? 0 : 1), 0);
  const warnings = outside > 0 ? [`${outside} points of ${curve.label} lie outside the bins and are left out`] : [];
  const parameters = { curve: curve.label, edges_1A: [...edges], pointsBefore: before, points: points.q.length };
  return success({
    words: `${points.q.length} points of ${before}, ${sigmaWords(sigma.value, curve.unit)}`,
    fits: [],
    warnings,
    curve: derived([curve], "rebinned", {
      ...sigma.value,
      steps: [entry("rebin", parameters, warnings)],
      warnings,
      unit: curve.unit,
    }),
  });
}

/** What a tool needs of a curve, without columns that would cross to the worker for nothing. */
export function bare({ q, intensity, sigma, qSigma }: ChosenCurve["points"]): ChosenCurve["points"] {
  return { q, intensity, ...(sigma && { sigma }), ...(qSigma && { qSigma }) };
}

function named({ label, unit }: ChosenCurve): NamedUnit {
  return { name: label, unit };
}

type WithSigma = ChosenCurve["points"] & { readonly sigma: Float64Array };

function withSigmas(points: ChosenCurve["points"], from: readonly ChosenCurve[]): Result<WithSigma> {
  const { sigma } = points;
  if (sigma !== undefined) return success({ ...points, sigma });
  return failure(
    "missing",
    `${from.map(({ label }) => label).join(" or ")} has no uncertainties, and the result would have none`,
  );
}

/** "σ 0.0034 to 0.12, median 0.012 1/cm" */
function sigmaWords({ sigma }: WithSigma, unit: string): string {
  const sorted = Float64Array.from(sigma).sort();
  const at = (share: number) => readable(Number((sorted[Math.round(share * (sorted.length - 1))] ?? 0).toPrecision(2)));
  return `σ ${at(0)} to ${at(1)}, median ${at(0.5)} ${unit === "not known" ? "" : unit}`.trim();
}

function entry(
  step: string,
  parameters: Readonly<Record<string, unknown>>,
  warnings: readonly string[],
): DerivedCurve["steps"][number] {
  return { step, status: "applied", parameters, sources: {}, warnings };
}

function derived(
  from: readonly ChosenCurve[],
  what: string,
  parts: Omit<DerivedCurve, "title" | "inputs">,
): DerivedCurve {
  return {
    ...parts,
    title: `${from.map(({ label }) => label.replace(/\.[^.]+$/, "")).join(what === "difference" ? " − " : " + ")}, ${what}`,
    inputs: from.map(({ file, key, sha256 }) => ({ role: "curve", file, sha256, format: "curve", dataset: key })),
  };
}
