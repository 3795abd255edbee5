import type { AnisotropyReport, Annulus } from "../anisotropy/analyse.ts";
import { type AnisotropyMeasures, hasAxis } from "../anisotropy/measures.ts";
import type { SeriesAxis } from "../anisotropy/series.ts";
import { shortest } from "../model/numbers.ts";

const DEGREE = Math.PI / 180;

/** An annulus with what a table says of it: the fit behind the measures is not needed. */
export interface TabledAnnulus extends Annulus {
  readonly measures: Omit<AnisotropyMeasures, "fit"> | undefined;
}

/** One sample of a series as tables and figures need it. */
export interface TabledSample {
  readonly file: string;
  readonly annuli: readonly TabledAnnulus[];
}

const MEASURES = [
  "axis_deg",
  "axis_deg_sigma",
  "alignment",
  "alignment_sigma",
  "p2",
  "p2_sigma",
  "pIsotropic",
  "pCentred",
] as const;

function measureCells({ measures }: TabledAnnulus): readonly string[] {
  if (measures === undefined) return MEASURES.map(() => "");
  const { axis, axisSigma, alignment, alignmentSigma, p2, p2Sigma, pIsotropic, pCentred } = measures;
  const [direction, directionSigma] = hasAxis(measures) ? [axis, axisSigma] : [Number.NaN, Number.NaN];
  return [
    direction / DEGREE,
    directionSigma / DEGREE,
    alignment,
    alignmentSigma,
    p2,
    p2Sigma,
    pIsotropic,
    pCentred,
  ].map(shortest);
}

/** The measures of every annulus of every sample (RFC 4180, with LF); a value that isn't known is an empty cell. */
export function seriesCsv(samples: readonly TabledSample[], axis: SeriesAxis): string {
  const head = ["file", "value", "annulus", "qMin_1A", "qMax_1A", ...MEASURES];
  const lines = samples.flatMap(({ file, annuli }, i) =>
    annuli.map((annulus) => [
      quoted(file),
      shortest(axis.values[i] ?? Number.NaN),
      quoted(annulus.id),
      shortest(annulus.qMin),
      shortest(annulus.qMax),
      ...measureCells(annulus),
    ]),
  );
  return table([head, ...lines]);
}

/** The measures against Q, an annulus a line. */
export function spectrumCsv({ spectrum }: Pick<AnisotropyReport, "spectrum">): string {
  const head = ["qMin_1A", "qMax_1A", ...MEASURES];
  return table([
    head,
    ...spectrum.map((annulus) => [shortest(annulus.qMin), shortest(annulus.qMax), ...measureCells(annulus)]),
  ]);
}

/** Columns of equal length under their names. */
export function columnsCsv(columns: Readonly<Record<string, Float64Array>>): string {
  const names = Object.keys(columns);
  const rows = columns[names[0]!]?.length ?? 0;
  const lines = Array.from({ length: rows }, (_, i) => names.map((name) => shortest(columns[name]![i]!)));
  return table([names, ...lines]);
}

function table(rows: readonly (readonly string[])[]): string {
  return `${rows.map((row) => row.join(",")).join("\n")}\n`;
}

function quoted(text: string): string {
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
