import { fitGuinier, fitPorod, type QuickLookFit } from "../../../core/curves/quick-look.ts";
import { withSigma } from "../../../core/model/numbers.ts";
import { failure, type Result, success } from "../../../core/model/result.ts";
import type { Command, CommandResult } from "../command.ts";
import { type NamedCurve, RANGE_OPTIONS, rangeOption, readCurve } from "./read-curve.ts";

export const look: Command = {
  name: "look",
  summary: "a radius of gyration, or a power law, over a range of a curve",
  arguments: ["CURVE"],
  options: {
    guinier: { type: "boolean", help: "ln I against Q^2: Rg and I(0)" },
    porod: { type: "boolean", help: "ln I against ln Q: exponent and constant" },
    ...RANGE_OPTIONS,
  },
  details: "The fit is weighted by the curve's uncertainties; --json has the residuals of every point, in sigmas.",
  async run({ given, signal, note }) {
    const range = rangeOption(given);
    if (!range.ok) return range;
    if (given.flags.has("guinier") === given.flags.has("porod"))
      return failure("missing", "look needs one of --guinier and --porod", { field: "--guinier" });
    const [file = ""] = given.positionals;
    const curve = await readCurve(file, signal);
    if (!curve.ok) return curve;
    curve.value.notes.forEach(note);
    const { qMin, qMax } = range.value;
    const result = given.flags.has("guinier") ? guinier(curve.value, qMin, qMax) : porod(curve.value, qMin, qMax);
    return result.ok ? result : { ok: false, fault: { ...result.fault, file } };
  },
};

function guinier({ file, points, unit }: NamedCurve, qMin: number, qMax: number): Result<CommandResult> {
  const fit = fitGuinier(points, qMin, qMax);
  if (!fit.ok) return fit;
  const { rg, rgSigma, forwardIntensity, forwardIntensitySigma, qRgMax } = fit.value;
  return success({
    json: {
      ...{ file, kind: "guinier", unit, rg_A: rg, rg_A_sigma: rgSigma },
      ...{ forwardIntensity, forwardIntensity_sigma: forwardIntensitySigma, qRgMax, ...shared(fit.value) },
    },
    text: [
      `Rg ${withSigma(rg, rgSigma)} A, I(0) ${withSigma(forwardIntensity, forwardIntensitySigma)} ${unit}, up to Q Rg = ${qRgMax.toFixed(2)}`,
      ...fitLines(fit.value),
    ].join("\n"),
  });
}

function porod({ file, points, unit }: NamedCurve, qMin: number, qMax: number): Result<CommandResult> {
  const fit = fitPorod(points, qMin, qMax);
  if (!fit.ok) return fit;
  const { exponent, exponentSigma, constant, constantSigma } = fit.value;
  return success({
    json: {
      ...{ file, kind: "porod", unit, exponent, exponent_sigma: exponentSigma },
      ...{ constant, constant_sigma: constantSigma, ...shared(fit.value) },
    },
    text: [
      `exponent ${withSigma(exponent, exponentSigma)}, constant ${withSigma(constant, constantSigma)} ${unit} A^-${exponent.toFixed(2)}`,
      ...fitLines(fit.value),
    ].join("\n"),
  });
}

function shared(fit: QuickLookFit): Readonly<Record<string, unknown>> {
  const { points, qMin, qMax, chi2, degreesOfFreedom, skipped, q, fitted, residuals, warnings } = fit;
  return {
    ...{ points, qMin_1A: qMin, qMax_1A: qMax, chi2, degreesOfFreedom, skipped },
    residuals: Array.from(q, (at, i) => ({ q_1A: at, fitted: fitted[i], residual_sigmas: residuals[i] })),
    warnings,
  };
}

function fitLines({ points, qMin, qMax, chi2, degreesOfFreedom, warnings }: QuickLookFit): readonly string[] {
  const quality = (chi2 / degreesOfFreedom).toPrecision(3);
  return [
    `${points} points from ${qMin} to ${qMax} 1/A, reduced chi-square ${quality}`,
    ...warnings.map((warning) => `warning: ${warning}`),
  ];
}
