import { fitStandard } from "../../../core/corrections/standard.ts";
import { withSigma } from "../../../core/model/numbers.ts";
import { failure, success } from "../../../core/model/result.ts";
import type { Command } from "../command.ts";
import { RANGE_OPTIONS, rangeOption, readCurve } from "./read-curve.ts";

export const scale: Command = {
  name: "scale",
  summary: "the factor that brings a standard's curve to its reference curve",
  arguments: ["CURVE"],
  required: ["reference"],
  options: {
    reference: { type: "string", placeholder: "FILE", help: "the standard's known curve, in 1/cm" },
    ...RANGE_OPTIONS,
  },
  details: [
    "CURVE is the standard as it was reduced without an absolute scale. What is printed belongs into the plans of the",
    'samples as "corrections": {"absolute": ...}. A large chi-square says that the two curves differ in shape.',
  ].join("\n"),
  async run({ given, signal, note }) {
    const range = rangeOption(given);
    if (!range.ok) return range;
    const [file = ""] = given.positionals;
    const curve = await readCurve(file, signal);
    if (!curve.ok) return curve;
    const referenceFile = given.values.get("reference") ?? "";
    const reference = await readCurve(referenceFile, signal);
    if (!reference.ok) return reference;
    for (const { notes } of [curve.value, reference.value]) notes.forEach(note);
    if (reference.value.unit !== "1/cm" && reference.value.unit !== "not known")
      return failure("inconsistent", `${referenceFile} is in ${reference.value.unit}: a reference must be in 1/cm`, {
        file: referenceFile,
        field: "--reference",
      });
    const fit = fitStandard(curve.value.points, reference.value.points, range.value);
    if (!fit.ok) return { ok: false, fault: { ...fit.fault, file } };
    const { value, sigma, points, chi2, warnings } = fit.value;
    const absolute = { method: "factor", value, sigma };
    return success({
      json: { file, reference: referenceFile, absolute, points, reducedChi2: chi2, warnings },
      text: [
        `factor ${withSigma(value, sigma)} over ${points} points, reduced chi-square ${chi2.toPrecision(3)}`,
        ...warnings.map((warning) => `warning: ${warning}`),
        `"absolute": ${JSON.stringify(absolute)}`,
      ].join("\n"),
    });
  },
};
