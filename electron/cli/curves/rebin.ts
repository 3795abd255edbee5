import { binEdgesOver } from "../../../core/averaging/bins.ts";
import { rebinCurve } from "../../../core/curves/arithmetic.ts";
import { type CurvePoints, pointsInRange } from "../../../core/curves/curve-points.ts";
import type { PlanBins } from "../../../core/model/plan.ts";
import { failure, type Result, success } from "../../../core/model/result.ts";
import type { Command, CommandValues } from "../command.ts";
import { positiveOption } from "../stop-limits.ts";
import { RANGE_OPTIONS, rangeOption, readCurve, withUncertainties } from "./read-curve.ts";
import { OUT_OPTIONS, requiredOut, writeCurve } from "./write-curve.ts";

export const rebin: Command = {
  name: "rebin",
  summary: "fewer, wider bins for a curve",
  arguments: ["CURVE"],
  required: ["out"],
  options: {
    ...OUT_OPTIONS,
    bins: { type: "string", placeholder: "N", help: "so many bins between the ends" },
    spacing: { type: "string", placeholder: "S", help: "linear or log (log)" },
    edges: { type: "string", placeholder: "LIST", help: "edges of the bins in 1/A, with commas, instead of --bins" },
    "q-min": { ...RANGE_OPTIONS["q-min"], help: "lower end of the first bin, 1/A" },
    "q-max": { ...RANGE_OPTIONS["q-max"], help: "upper end of the last bin, 1/A" },
  },
  details: [
    "Points of a bin become their mean, weighted by 1/sigma^2, with the resolution of all of them together. That is right",
    "for points of many counts. Wider bins in the plan are better: they are right at any count.",
  ].join("\n"),
  async run({ given, signal, note }) {
    const place = await requiredOut(given);
    if (!place.ok) return place;
    const [file = ""] = given.positionals;
    const curve = await readCurve(file, signal);
    if (!curve.ok) return curve;
    curve.value.notes.forEach(note);
    const { points, unit, title, input } = curve.value;
    const known = withUncertainties(curve.value);
    if (!known.ok) return known;
    const edges = edgesOf(given, points);
    if (!edges.ok) return edges;
    const [from, to] = [edges.value.at(0), edges.value.at(-1)];
    const made = rebinCurve(known.value, edges.value);
    if (!made.ok) return { ok: false, fault: { ...made.fault, file } };
    const { q } = made.value;
    if (q.length === 0) return failure("out-of-range", `no point of ${file} lies in these bins`, { file });
    const outside = points.q.length - pointsInRange(points, from ?? 0, to ?? 0).length;
    const warnings = outside > 0 ? [`${outside} points of ${file} lie outside the bins and are left out`] : [];
    const { out, format } = place.value;
    const written = await writeCurve(out, format, {
      ...made.value,
      title,
      unit,
      inputs: [input],
      steps: [
        {
          step: "rebin",
          status: "applied",
          parameters: { curve: file, edges_1A: [...edges.value], pointsBefore: points.q.length, points: q.length },
          sources: { edges_1A: given.values.has("edges") ? "--edges" : "--bins" },
          warnings,
        },
      ],
      warnings,
    });
    if (!written.ok) return written;
    return success({
      json: { out, points: q.length, pointsBefore: points.q.length, leftOut: outside, unit, warnings },
      text: [...warnings.map((text) => `warning: ${text}`), `${q.length} points of ${points.q.length} in ${out}`].join(
        "\n",
      ),
    });
  },
};

/** Bins as a plan has them, from the options; the ends of the curve where no others are given. */
function edgesOf(given: CommandValues, { q }: CurvePoints): Result<Float64Array> {
  const { values } = given;
  const list = values.get("edges");
  const count = positiveOption(given, "bins");
  if (!count.ok) return count;
  if ((list === undefined) === (count.value === undefined))
    return failure("missing", "rebin needs one of --bins and --edges", { field: "--bins" });
  const range = rangeOption(given);
  if (!range.ok) return range;
  const spacing = values.get("spacing") ?? "log";
  if (spacing !== "log" && spacing !== "linear")
    return failure("unsupported", `--spacing must be linear or log; found "${spacing}"`, { field: "--spacing" });
  const between: PlanBins = {
    ...{ spacing, count: count.value },
    ...(values.has("q-min") && { qMin: range.value.qMin }),
    ...(values.has("q-max") && { qMax: range.value.qMax }),
  };
  return list === undefined ? binEdgesOver(between, q, "--bins") : binEdgesOver(listed(list), q, "--edges");
}

function listed(text: string): PlanBins {
  const edges = text.split(",").map((part) => (part.trim() === "" ? Number.NaN : Number(part)));
  return { spacing: "edges", edges };
}
