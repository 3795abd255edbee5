import { mergedUnit } from "../../../core/curves/common-unit.ts";
import { mergeMany } from "../../../core/curves/merge-many.ts";
import { withSigma } from "../../../core/model/numbers.ts";
import { success } from "../../../core/model/result.ts";
import type { Command } from "../command.ts";
import { type NamedCurve, RANGE_OPTIONS, rangeOption, readCurve } from "./read-curve.ts";
import { OUT_OPTIONS, requiredOut, writeCurve } from "./write-curve.ts";

export const merge: Command = {
  name: "merge",
  summary: "put curves of overlapping range together, each scaled onto those before it",
  arguments: ["CURVE", "CURVE"],
  takesMore: true,
  required: ["out"],
  options: {
    ...OUT_OPTIONS,
    ...RANGE_OPTIONS,
    constant: { type: "boolean", help: "fit a constant besides the scale" },
  },
  details: [
    "The first curve keeps its scale. Scale and constant come from the points that two curves share, weighted by the",
    "uncertainties of both; the sigma of a scale holds those of the scales before it. Points are kept as they are, never",
    "averaged, so that each keeps its resolution.",
  ].join("\n"),
  async run({ given, signal, note }) {
    const range = rangeOption(given);
    if (!range.ok) return range;
    const place = await requiredOut(given);
    if (!place.ok) return place;
    const { out, format } = place.value;
    const curves: NamedCurve[] = [];
    for (const file of given.positionals) {
      const curve = await readCurve(file, signal);
      if (!curve.ok) return curve;
      curve.value.notes.forEach(note);
      curves.push(curve.value);
    }
    const unit = mergedUnit(curves.map(({ file, unit }) => ({ name: file, unit })));
    if (!unit.ok) return unit;
    const merged = mergeMany(
      curves.map(({ file, points }) => ({ name: file, points })),
      { ...range.value, withConstant: given.flags.has("constant") },
    );
    if (!merged.ok) return merged;
    const { points, fits, steps, warnings } = merged.value;
    const written = await writeCurve(out, format, {
      ...points,
      title: curves[0]?.title ?? "merged",
      unit: unit.value,
      inputs: curves.map(({ input }) => input),
      steps,
      warnings,
    });
    if (!written.ok) return written;
    const numbers = fits.map(({ name, scale, scaleSigma, constant, constantSigma, chi2, degreesOfFreedom }) => ({
      file: name,
      ...{ scale, scale_sigma: scaleSigma, constant, constant_sigma: constantSigma, chi2, degreesOfFreedom },
    }));
    const lines = numbers.map(
      ({ file, scale, scale_sigma, constant, constant_sigma, chi2, degreesOfFreedom }) =>
        `${file}: scale ${withSigma(scale, scale_sigma)}${given.flags.has("constant") ? `, constant ${withSigma(constant, constant_sigma)}` : ""}, reduced chi-square ${(chi2 / degreesOfFreedom).toPrecision(3)} over ${degreesOfFreedom} degrees of freedom`,
    );
    return success({
      json: { out, points: points.q.length, unit: unit.value, curves: numbers, warnings },
      text: [...lines, ...warnings.map((text) => `warning: ${text}`), `${points.q.length} points in ${out}`].join("\n"),
    });
  },
};
