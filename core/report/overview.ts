import type { Curve } from "../model/curve.ts";
import type { Reduction } from "../plan/reduction.ts";
import { PNG_SCALE } from "./figure-files.ts";
import { curveFigure } from "./figures/curve-figure.ts";
import { jsonBytes } from "./json.ts";
import { stepName } from "./ledger-words.ts";
import type { OutputFile } from "./output-file.ts";
import type { OutputServices } from "./output-services.ts";
import { utf8 } from "./text.ts";

/** The curve that stands for a sample beside the others. */
export interface OverviewCurve extends Pick<Curve, "id" | "unit" | "q" | "intensity" | "sigma"> {}

/** One sample of a batch: what its summary says, or why there is none. */
export interface OverviewSample {
  readonly sample: string;
  /** Null: it has none. */
  readonly folder: string | null;
  readonly status: "reduced" | "kept" | "failed";
  readonly message?: string;
  readonly summary?: Readonly<Record<string, unknown>>;
  readonly curve?: OverviewCurve;
}

export interface Overview {
  readonly title: string;
  readonly samples: readonly OverviewSample[];
}

/** The first curve with points; undefined where a reduction has only profiles. */
export function overviewCurve({ curves }: Reduction): OverviewCurve | undefined {
  const curve = curves.find(({ q }) => q.length > 0);
  if (curve === undefined) return undefined;
  const { id, unit, q, intensity, sigma } = curve;
  return { id, unit, q, intensity, sigma };
}

/** The table of a batch as CSV and JSON, and its curves in one figure. */
export async function overviewFiles(
  overview: Overview,
  { rasterise }: Required<Pick<OutputServices, "rasterise">>,
  signal: AbortSignal,
): Promise<readonly OutputFile[]> {
  const rows = overview.samples.map(overviewRow);
  const files: OutputFile[] = [
    { path: "overview.csv", bytes: utf8(csv(rows)) },
    { path: "overview.json", bytes: jsonBytes({ title: overview.title, samples: rows }) },
  ];
  const svg = overviewFigure(overview);
  if (svg === undefined) return files;
  signal.throwIfAborted();
  files.push({ path: "overview.svg", bytes: utf8(svg) });
  files.push({ path: "overview.png", bytes: await rasterise(svg, PNG_SCALE) });
  return files;
}

type Cell = string | number | null;

/** The numbers by which the runs of an experiment are compared; null: not known. */
function overviewRow({ sample, folder, status, message, summary, curve }: OverviewSample): Record<string, Cell> {
  const averages = (at(summary, "averages") ?? []) as readonly Record<string, unknown>[];
  const first = averages.find(({ id }) => id === curve?.id) ?? averages[0];
  const warnings = (at(summary, "warnings") ?? []) as readonly unknown[];
  return {
    sample,
    folder,
    status,
    unit: cell(at(summary, "intensityUnit")),
    transmission: cell(at(summary, "transmission", "sample", "value")),
    transmission_sigma: cell(at(summary, "transmission", "sample", "sigma")),
    thickness_mm: cell(at(summary, "metadata", "thickness_mm", "value")),
    monitorCounts: cell(at(summary, "metadata", "monitorCounts", "value")),
    countTime_s: cell(at(summary, "metadata", "countTime_s", "value")),
    beamCentre_x_px: cell(at(summary, "beamCentre_px", "value", "0")),
    beamCentre_y_px: cell(at(summary, "beamCentre_px", "value", "1")),
    commonRelative: cell(at(summary, "commonUncertainty", "relative")),
    average: cell(at(first, "id")),
    points: cell(at(first, "points")),
    qMin_1A: cell(at(first, "qMin_1A")),
    qMax_1A: cell(at(first, "qMax_1A")),
    counts: cell(at(first, "counts")),
    scatterOverCounting: cell(at(first, "scatterOverCounting", "median")),
    warnings: summary === undefined ? null : warnings.length,
    message: message ?? null,
  };
}

function at(value: unknown, ...path: readonly string[]): unknown {
  let part = value;
  for (const key of path) part = (part as Readonly<Record<string, unknown>> | null | undefined)?.[key];
  return part;
}

function cell(value: unknown): Cell {
  return typeof value === "number" || typeof value === "string" ? value : null;
}

/** RFC 4180, with LF; what isn't known is an empty cell. */
function csv(rows: readonly Readonly<Record<string, Cell>>[]): string {
  const [first] = rows;
  const lines = first === undefined ? [] : [Object.keys(first).join(",")];
  for (const row of rows) lines.push(Object.values(row).map(quoted).join(","));
  return `${lines.join("\n")}\n`;
}

function quoted(value: Cell): string {
  const text = value === null ? "" : String(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** More on one pair of axes can't be told apart. */
const MOST_CURVES = 40;

/** The curves of all samples that share the first one's unit. Undefined where there is none. */
function overviewFigure({ title, samples }: Overview): string | undefined {
  const withCurve = samples.filter(({ curve }) => curve !== undefined);
  const unit = withCurve[0]?.curve?.unit;
  if (unit === undefined) return undefined;
  const alike = withCurve.filter(({ curve }) => curve!.unit === unit);
  const drawn = alike.slice(0, MOST_CURVES);
  const missing = samples.length - drawn.length;
  const notApplied = new Set(
    drawn.flatMap(({ summary }) =>
      ((at(summary, "notApplied") ?? []) as readonly { readonly step: string }[]).map(({ step }) => stepName(step)),
    ),
  );
  const isPositive = drawn.every(({ curve }) => curve!.q.every((value) => value > 0));
  return curveFigure({
    title,
    series: drawn.map(({ folder, sample, curve }) => ({ label: folder ?? sample, curve: curve! })),
    unit,
    view: { transform: "i-q", x: isPositive ? "log" : "linear", y: "log" },
    notes: [
      ...(missing > 0 ? [`${missing} of ${samples.length} samples not shown: overview.csv says why`] : []),
      ...(notApplied.size > 0 ? [`Not applied in one or more: ${[...notApplied].join(", ")}`] : []),
    ],
  });
}
