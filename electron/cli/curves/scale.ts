import { fitStandard } from "../../../core/corrections/standard.ts";
import { scaleCurve } from "../../../core/curves/arithmetic.ts";
import { withSigma } from "../../../core/model/numbers.ts";
import { failure, type Result, success } from "../../../core/model/result.ts";
import type { Command, CommandResult } from "../command.ts";
import { positiveOption } from "../stop-limits.ts";
import { type NamedCurve, RANGE_OPTIONS, rangeOption, readCurve, withUncertainties } from "./read-curve.ts";
import { OUT_OPTIONS, outOption, writeCurve } from "./write-curve.ts";

export const scale: Command = {
  name: "scale",
  summary: "a curve times a factor: a number, or what brings a standard's curve to its reference curve",
  arguments: ["CURVE"],
  options: {
    reference: {
      type: "string",
      placeholder: "FILE",
      help: "the standard's known curve, in 1/cm: the factor is fitted",
    },
    factor: { type: "string", placeholder: "F", help: "the factor itself, taken as exact; needs --out" },
    ...OUT_OPTIONS,
    ...RANGE_OPTIONS,
  },
  details: [
    "With --reference CURVE is the standard as it was reduced without an absolute scale. What is printed belongs into the",
    'plans of the samples as "corrections": {"absolute": ...}. A large chi-square says that the two curves differ in',
    "shape. With --out the scaled curve is written; the sigma of a fitted factor moves all points together and stands in",
    "the file's notes, not in the sigma of the points.",
  ].join("\n"),
  async run({ given, signal, note }) {
    const range = rangeOption(given);
    if (!range.ok) return range;
    const factor = positiveOption(given, "factor");
    if (!factor.ok) return factor;
    const referenceFile = given.values.get("reference");
    if ((referenceFile === undefined) === (factor.value === undefined))
      return failure("missing", "scale needs one of --reference and --factor", { field: "--reference" });
    if (factor.value !== undefined && !given.values.has("out"))
      return failure("missing", "scale by a factor needs --out: where the scaled curve goes", { field: "--out" });
    const place = await outOption(given);
    if (!place.ok) return place;
    const [file = ""] = given.positionals;
    const curve = await readCurve(file, signal);
    if (!curve.ok) return curve;
    if (factor.value !== undefined) {
      curve.value.notes.forEach(note);
      return writeScaled(place.value, curve.value, { value: factor.value, from: "--factor", unit: curve.value.unit });
    }
    if (referenceFile === undefined) throw new TypeError("neither a factor nor a reference");
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
    const written = await writeScaled(place.value, curve.value, {
      ...{ value, sigma, unit: reference.value.unit, reference: reference.value, warnings },
      from: "weighted least squares over the shared points",
    });
    if (!written.ok) return written;
    const { out } = place.value ?? {};
    return success({
      json: { file, reference: referenceFile, absolute, points, reducedChi2: chi2, warnings, ...(out && { out }) },
      text: [
        `factor ${withSigma(value, sigma)} over ${points} points, reduced chi-square ${chi2.toPrecision(3)}`,
        ...warnings.map((warning) => `warning: ${warning}`),
        `"absolute": ${JSON.stringify(absolute)}`,
        ...(out === undefined ? [] : [written.value.text]),
      ].join("\n"),
    });
  },
};

async function writeScaled(
  place: { readonly out: string; readonly format: Parameters<typeof writeCurve>[1] } | undefined,
  curve: NamedCurve,
  by: {
    readonly value: number;
    readonly sigma?: number;
    readonly from: string;
    readonly unit: string;
    readonly reference?: NamedCurve;
    readonly warnings?: readonly string[];
  },
): Promise<Result<CommandResult>> {
  const { value, sigma, from, unit, reference, warnings = [] } = by;
  if (place === undefined) return success({ json: {}, text: "" });
  const known = withUncertainties(curve);
  if (!known.ok) return known;
  const scaled = scaleCurve(known.value, value);
  const { out, format } = place;
  const written = await writeCurve(out, format, {
    ...scaled,
    title: curve.title,
    unit,
    inputs: [curve.input, ...(reference === undefined ? [] : [reference.input])],
    steps: [
      {
        step: "scale",
        status: "applied",
        parameters: { curve: curve.file, factor: value, ...(sigma !== undefined && { factor_sigma: sigma }) },
        sources: { factor: from },
        ...(sigma !== undefined && { relativeSigma: sigma / value }),
        warnings,
      },
    ],
    warnings,
  });
  if (!written.ok) return written;
  const points = scaled.q.length;
  return success({ json: { out, points, factor: value, unit }, text: `${points} points in ${out}` });
}
