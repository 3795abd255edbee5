import { labelAndUnit, type SeriesAxis, type SeriesSource, seriesAxis } from "../../core/anisotropy/series.ts";
import { describeFault, failure, type Result } from "../../core/model/result.ts";
import type { SeriesSampleView } from "../worker/anisotropy-view.ts";

/** Where the person takes the values of a series from. */
export const SERIES_SOURCES = ["order", "file-name", "title", "start-time", "typed"] as const;
export type SeriesChoice = (typeof SERIES_SOURCES)[number];

export const SERIES_LABELS: Readonly<Record<SeriesChoice, string>> = {
  order: "Order of the samples",
  "file-name": "Number in the file name",
  title: "Number in the title",
  "start-time": "Time since the first run",
  typed: "Typed values",
};

export interface TypedSeries {
  /** As typed: "0, 30, 300". */
  readonly values: string;
  /** "Shear rate (1/s)" */
  readonly label: string;
}

/** The axis of the series; a sentence where the choice gives none. */
export function chosenAxis(
  samples: readonly SeriesSampleView[],
  choice: SeriesChoice,
  typed: TypedSeries,
): { readonly axis: SeriesAxis } | { readonly problem: string } {
  const source = sourceOf(choice, typed);
  const axis = source.ok ? seriesAxis(samples, source.value) : source;
  return axis.ok ? { axis: axis.value } : { problem: describeFault(axis.fault) };
}

function sourceOf(choice: SeriesChoice, typed: TypedSeries): Result<SeriesSource> {
  if (choice !== "typed") return { ok: true, value: { kind: choice } };
  const parts = typed.values.split(/[,;\s]+/).filter((part) => part !== "");
  const values = parts.map(Number);
  if (parts.length === 0 || !values.every((value) => Number.isFinite(value)))
    return failure("out-of-range", "type a number for each sample, with commas between them");
  const name = typed.label.trim() === "" ? "Value" : typed.label;
  return { ok: true, value: { kind: "typed", values, ...labelAndUnit(name) } };
}

/** "Shear rate (1/s)" */
export function axisTitle({ label, unit }: SeriesAxis): string {
  return unit === "" ? label : `${label} (${unit})`;
}
