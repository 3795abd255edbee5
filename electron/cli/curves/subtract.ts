import { subtractCurve } from "../../../core/curves/arithmetic.ts";
import { differenceUnit } from "../../../core/curves/common-unit.ts";
import { success } from "../../../core/model/result.ts";
import type { Command } from "../command.ts";
import { positiveOption } from "../stop-limits.ts";
import { readCurve, withUncertainties } from "./read-curve.ts";
import { OUT_OPTIONS, requiredOut, writeCurve } from "./write-curve.ts";

export const subtract: Command = {
  name: "subtract",
  summary: "take one curve off another, with the uncertainties of both",
  arguments: ["CURVE", "OTHER"],
  required: ["out"],
  options: {
    ...OUT_OPTIONS,
    factor: { type: "string", placeholder: "F", help: "times which OTHER is taken off (1); taken as exact" },
  },
  details: [
    "I = I(CURVE) - F I(OTHER) at the Q of CURVE; OTHER is read between its points on logarithmic scales. Points of CURVE",
    "outside OTHER are left out. The two curves are taken as independent of each other.",
  ].join("\n"),
  async run({ given, signal, note }) {
    const factor = positiveOption(given, "factor");
    if (!factor.ok) return factor;
    const place = await requiredOut(given);
    if (!place.ok) return place;
    const [file = "", otherFile = ""] = given.positionals;
    const curve = await readCurve(file, signal);
    if (!curve.ok) return curve;
    const other = await readCurve(otherFile, signal);
    if (!other.ok) return other;
    for (const { notes } of [curve.value, other.value]) notes.forEach(note);
    const { title, points } = curve.value;
    const unit = differenceUnit({ name: file, unit: curve.value.unit }, { name: otherFile, unit: other.value.unit });
    if (!unit.ok) return unit;
    for (const one of [curve.value, other.value]) {
      const known = withUncertainties(one);
      if (!known.ok) return known;
    }
    const by = factor.value ?? 1;
    const made = subtractCurve(points, other.value.points, by);
    if (!made.ok) return { ok: false, fault: { ...made.fault, file: otherFile } };
    const { leftOut } = made.value;
    const difference = withUncertainties({ file, points: made.value.curve });
    if (!difference.ok) return difference;
    const { length } = difference.value.q;
    const warnings = leftOut > 0 ? [`${leftOut} points of ${file} lie outside ${otherFile} and are left out`] : [];
    const { out, format } = place.value;
    const written = await writeCurve(out, format, {
      ...difference.value,
      title,
      unit: unit.value,
      inputs: [curve.value.input, other.value.input],
      steps: [
        {
          step: "subtract",
          status: "applied",
          parameters: { curve: file, takenOff: otherFile, factor: by, points: length, leftOut },
          sources: { factor: factor.value === undefined ? "default" : "--factor" },
          warnings,
        },
      ],
      warnings,
    });
    if (!written.ok) return written;
    return success({
      json: { out, points: length, leftOut, factor: by, unit: unit.value, warnings },
      text: [...warnings.map((text) => `warning: ${text}`), `${length} points in ${out}`].join("\n"),
    });
  },
};
