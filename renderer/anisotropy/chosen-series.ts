import {
  type KnownSource,
  labelAndUnit,
  type SeriesAxis,
  type SeriesSource,
  seriesAxis,
  seriesFields,
} from "../../core/anisotropy/series.ts";
import { describeFault } from "../../core/model/result.ts";
import type { SeriesSampleView } from "../worker/anisotropy-view.ts";

/** Where the values of a series come from, besides the numbers of the runs. */
const SOURCE_LABELS = {
  order: "Order of the samples",
  typed: "Typed values",
  "file-name": "Number in the file name",
  title: "Number in the title",
  "start-time": "Time since the first run",
} as const;
type NamedSource = keyof typeof SOURCE_LABELS;

/** What the person chose and typed. */
export interface SeriesChoice {
  /** A named source, or a number of the runs by the plan's key. */
  readonly from: string;
  /** By file; each stands before what the source says. */
  readonly typed: Readonly<Record<string, number>>;
  /** "Shear rate (1/s)"; "": as the source is called. */
  readonly label: string;
}

/** What the series can be drawn against: the named sources, and the numbers that the runs have. */
export function seriesOptions(
  samples: readonly SeriesSampleView[],
): readonly { readonly value: string; readonly label: string }[] {
  const named = Object.entries(SOURCE_LABELS).map(([value, label]) => ({ value, label }));
  return [...named, ...seriesFields(samples).map(({ fileKey, label }) => ({ value: fileKey, label }))];
}

/** The axis of the series; a sentence where the choice gives none. */
export function chosenAxis(
  samples: readonly SeriesSampleView[],
  choice: SeriesChoice,
): { readonly axis: SeriesAxis } | { readonly problem: string } {
  const axis = seriesAxis(samples, sourceOf(samples, choice));
  return axis.ok ? { axis: axis.value } : { problem: describeFault(axis.fault) };
}

function sourceOf(samples: readonly SeriesSampleView[], { from, typed, label }: SeriesChoice): SeriesSource {
  if (from === "order") return { kind: "order" };
  return {
    kind: "typed",
    values: samples.map(({ file }) => typed[file]),
    name: label.trim() === "" ? undefined : labelAndUnit(label),
    otherwise: knownSource(from),
  };
}

function knownSource(from: string): KnownSource | undefined {
  if (!isNamed(from)) return { kind: "metadata", key: from };
  return from === "typed" ? undefined : { kind: from };
}

function isNamed(from: string): from is NamedSource {
  return from in SOURCE_LABELS;
}

/** "Shear rate (1/s)" */
export function axisTitle({ label, unit }: Pick<SeriesAxis, "label" | "unit">): string {
  return unit === "" ? label : `${label} (${unit})`;
}
