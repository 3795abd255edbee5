import { METADATA_FIELDS, type MetadataField, type RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";

/** Where the values come from that a series is drawn against. */
export type SeriesSource = KnownSource | TypedSource;

/** Values of a person's: each stands before what the runs say, and undefined leaves it to `otherwise`. */
export interface TypedSource {
  readonly kind: "typed";
  /** One a sample, in their order. */
  readonly values: readonly (number | undefined)[];
  /** Undefined: as `otherwise` is called. */
  readonly name: { readonly label: string; readonly unit: string } | undefined;
  readonly otherwise: KnownSource | undefined;
}

/** What the runs know themselves. */
export type KnownSource =
  /** 1, 2, 3, ... in the order of the samples. */
  | { readonly kind: "order" }
  /** A number of the runs' metadata by the plan's key ("countTime_s"). */
  | { readonly kind: "metadata"; readonly key: string }
  /** Seconds since the first of the runs began. */
  | { readonly kind: "start-time" }
  /** The last number in the file's name or in the title of the run. */
  | { readonly kind: "file-name" | "title" };

export interface SeriesAxis {
  readonly label: string;
  readonly unit: string;
  /** One a sample; undefined: the sample has none. */
  readonly values: readonly (number | undefined)[];
}

export interface SeriesSample {
  readonly file: string;
  readonly metadata: RunMetadata;
}

/** A fault where a source cannot fit a series of `count` samples: found before anything is measured. */
export function checkSeriesSource(source: SeriesSource, count: number): Result<SeriesSource> {
  if (source.kind === "typed" && source.values.length !== count)
    return failure(
      "inconsistent",
      `${source.values.length} values were given for a series of ${count} samples: give one for each, in their order`,
    );
  if (source.kind === "typed")
    return source.otherwise === undefined ? success(source) : checkSeriesSource(source.otherwise, count);
  if (source.kind === "metadata" && seriesField(source.key) === undefined) {
    const known = METADATA_FIELDS.filter(({ length }) => length === 1).map(({ fileKey }) => fileKey);
    return failure("out-of-range", `"${source.key}" is no number of a run: a series can follow ${known.join(", ")}`);
  }
  return success(source);
}

function seriesField(key: string) {
  return METADATA_FIELDS.find(({ fileKey, length }) => fileKey === key && length === 1);
}

/** The value of each sample of a series; a fault where the source fits the samples nowhere. */
export function seriesAxis(samples: readonly SeriesSample[], source: SeriesSource): Result<SeriesAxis> {
  const checked = checkSeriesSource(source, samples.length);
  if (!checked.ok) return checked;
  if (source.kind === "typed") return fromTyped(samples, source);
  return fromRuns(samples, source);
}

function fromRuns(samples: readonly SeriesSample[], source: KnownSource): Result<SeriesAxis> {
  switch (source.kind) {
    case "order":
      return success({ label: "Place in the series", unit: "", values: samples.map((_, i) => i + 1) });
    case "metadata":
      return fromMetadata(samples, source.key);
    case "start-time":
      return fromStartTimes(samples);
    case "file-name":
      return found({ label: "Number in the file name", unit: "" }, samples, ({ file }) =>
        lastNumber(file.replace(/\.[^./\\]*$/, "").replace(/^.*[/\\]/, "")),
      );
    case "title":
      return found({ label: "Number in the title", unit: "" }, samples, ({ metadata }) =>
        lastNumber(metadata.title?.value ?? metadata.sampleName?.value ?? ""),
      );
  }
}

/** What the axis is called where nobody said. */
const UNNAMED = { label: "Value", unit: "" };

function fromTyped(samples: readonly SeriesSample[], { values, name, otherwise }: TypedSource): Result<SeriesAxis> {
  if (otherwise === undefined) {
    if (values.every((value) => value === undefined))
      return failure("missing", "no value of the series is typed: give one for each sample");
    return success({ ...(name ?? UNNAMED), values });
  }
  const known = fromRuns(samples, otherwise);
  if (!known.ok && values.every((value) => value === undefined)) return known;
  const { label, unit } = name ?? (known.ok ? known.value : UNNAMED);
  return success({
    label,
    unit,
    values: values.map((value, i) => value ?? (known.ok ? known.value.values[i] : undefined)),
  });
}

/** The numbers of the runs that a series can follow: those that at least one sample has. */
export function seriesFields(samples: readonly SeriesSample[]): readonly MetadataField[] {
  return METADATA_FIELDS.filter(
    ({ key, length }) => length === 1 && samples.some(({ metadata }) => metadata[key] !== undefined),
  );
}

/** "Shear rate (1/s)" is a label and its unit; without brackets the unit is "". */
export function labelAndUnit(text: string): { readonly label: string; readonly unit: string } {
  const parts = /^(.*\S)\s*\(([^()]*)\)\s*$/.exec(text);
  return parts === null ? { label: text.trim(), unit: "" } : { label: parts[1]!.trim(), unit: parts[2]!.trim() };
}

function fromMetadata(samples: readonly SeriesSample[], key: string): Result<SeriesAxis> {
  const field = seriesField(key);
  if (field === undefined) throw new RangeError(`no number of a run is called ${key}`);
  return found(field, samples, ({ metadata }) => {
    const value = metadata[field.key]?.value;
    return typeof value === "number" ? value / field.scale : undefined;
  });
}

function fromStartTimes(samples: readonly SeriesSample[]): Result<SeriesAxis> {
  const times = samples.map(({ metadata }) => Date.parse(metadata.startTime?.value ?? "") / 1000);
  const first = Math.min(...times.filter((time) => Number.isFinite(time)));
  const at = new Map(samples.map((sample, i) => [sample, times[i]! - first]));
  return found({ label: "Time since the first run", unit: "s" }, samples, (sample) => at.get(sample));
}

function found(
  { label, unit }: { readonly label: string; readonly unit: string },
  samples: readonly SeriesSample[],
  numberOf: (sample: SeriesSample) => number | undefined,
): Result<SeriesAxis> {
  const values = samples.map((sample) => {
    const value = numberOf(sample);
    return value !== undefined && Number.isFinite(value) ? value : undefined;
  });
  if (values.every((value) => value === undefined))
    return failure("missing", `no sample of the series has a value for "${label}": type the values instead`);
  return success({ label, unit, values });
}

/** The 1 of a unit such as "1/s" is no value. */
function lastNumber(text: string): number | undefined {
  const numbers = text.match(/\d+(?:\.\d+)?(?![\d.]*\s*\/)/g);
  return numbers === null ? undefined : Number(numbers.at(-1));
}
