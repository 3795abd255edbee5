import { resolve } from "node:path";
import { anisotropyJson } from "../../core/anisotropy/report-json.ts";
import {
  checkSeriesSource,
  type KnownSource,
  labelAndUnit,
  type SeriesAxis,
  type SeriesSource,
  seriesAxis,
} from "../../core/anisotropy/series.ts";
import type { RunMetadata } from "../../core/model/metadata.ts";
import { type Fault, failure, type Result, success } from "../../core/model/result.ts";
import { type AnisotropyOptions, assessAnisotropy } from "../../core/plan/assess-anisotropy.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import { sampleReferences } from "../../core/plan/inputs.ts";
import type { Plan } from "../../core/plan/plan.ts";
import {
  assessmentFiles,
  assessmentJson,
  type SeriesEntry,
  seriesFiles,
  seriesJson,
} from "../../core/report/anisotropy-outputs.ts";
import { jsonBytes } from "../../core/report/json.ts";
import type { OutputFile } from "../../core/report/output-file.ts";
import { checkOutputFolder, writeOutputFolder } from "../services/output-folder.ts";
import { rasterise } from "../services/rasterise.ts";
import { FileRunSource } from "../services/run-source.ts";
import { VERSION } from "../services/version.ts";
import { writeHdf5 } from "../services/write-hdf5.ts";
import { assessmentText, seriesText } from "./anisotropy-text.ts";
import type { Command, CommandContext, CommandResult, CommandValues } from "./command.ts";
import { planFolder, readPlanFor } from "./plan-file.ts";
import { uniqueFolders } from "./sample-folders.ts";

export const anisotropy: Command = {
  name: "anisotropy",
  summary: "tell whether the scattering is anisotropic, along which axis, how strongly and at which Q",
  arguments: ["PLAN"],
  options: {
    out: { type: "string", placeholder: "DIR", help: "a folder for tables, maps and figures, made by this command" },
    sample: { type: "string", placeholder: "FILE", isList: true, help: "samples instead of the plan's" },
    force: { type: "boolean", help: "write into a folder that holds other files; they stay" },
    field: { type: "string", placeholder: "DEG", help: "azimuth of the magnetic field; left out: fitted" },
    sector: { type: "string", placeholder: "DEG", help: "half-width of the sectors along and across (15)" },
    "series-from": {
      type: "string",
      placeholder: "WHAT",
      help: "file-name, title, start-time, or a number of the runs (countTime_s)",
    },
    "series-values": {
      type: "string",
      placeholder: "A,B,...",
      help: "a value for each sample, in their order; a gap: as the run says",
    },
    "series-label": { type: "string", placeholder: "TEXT", help: 'what the values are: "Shear rate (1/s)"' },
  },
  details: [
    "Measures the annuli of the plan; where it has none, the middle third of the Q range. The axis is the direction of",
    "strongest scattering, anticlockwise from +x: rods scatter across themselves. Several samples are a series. --json",
    "has annuli and spectrum of the first sample at its top, and the series below.",
  ].join("\n"),
  async run(context) {
    const { given } = context;
    const [planFile = ""] = given.positionals;
    const options = readOptions(given);
    if (!options.ok) return options;
    const source = readSource(given);
    if (!source.ok) return source;
    const plan = await readPlanFor(planFile, given.lists.get("sample") ?? []);
    if (!plan.ok) return plan;
    const count = sampleReferences(plan.value).length;
    const fitting = checkSeriesSource(source.value, count);
    if (!fitting.ok) return { ok: false, fault: { field: sourceOption(source.value, count), ...fitting.fault } };
    const out = given.values.get("out");
    const force = given.flags.has("force");
    if (out !== undefined) {
      const free = await checkOutputFolder(resolve(out), force);
      if (!free.ok) return free;
    }
    const measured = await measureSamples(plan.value, planFolder(planFile), { context, options: options.value });
    if (!measured.ok) return measured;
    return answer(measured.value, { source: source.value, out, force, title: plan.value.title ?? planFile, context });
  },
};

/** The option that a source was given by. */
function sourceOption(source: SeriesSource, count: number): string {
  return source.kind === "typed" && source.values.length !== count ? "--series-values" : "--series-from";
}

/** Typed values belong to all samples; those of samples that failed are left out. */
function sourceFor(source: SeriesSource, samples: readonly MeasuredSample[]): SeriesSource {
  if (source.kind !== "typed") return source;
  return { ...source, values: samples.map(({ index }) => source.values[index]) };
}

interface MeasuredSample extends SeriesEntry {
  /** Place among all samples of the plan. */
  readonly index: number;
  readonly metadata: RunMetadata;
  readonly json: Readonly<Record<string, unknown>>;
  readonly text: string;
  readonly files: readonly OutputFile[];
}

interface MeasuredSeries {
  readonly samples: readonly MeasuredSample[];
  readonly failed: readonly Fault[];
  readonly count: number;
}

/** Each sample in turn, so that one frame at a time is in memory. */
async function measureSamples(
  plan: Plan,
  folder: string,
  { context, options }: { readonly context: CommandContext; readonly options: AnisotropyOptions },
): Promise<Result<MeasuredSeries>> {
  const { signal, onProgress, given } = context;
  const files = sampleReferences(plan).map((sample) => (typeof sample === "string" ? sample : sample.file));
  const source = new FileRunSource(folder);
  const samples: MeasuredSample[] = [];
  const failed: Fault[] = [];
  for (const [sampleIndex, file] of files.entries()) {
    signal.throwIfAborted();
    const tell = (fraction: number, what: string) =>
      onProgress((sampleIndex + fraction) / files.length, `${file}: ${what}`);
    const reduced = await reducePlan(plan, source, {
      sampleIndex,
      signal,
      version: VERSION,
      onProgress: (fraction, what) => tell(0.7 * fraction, what),
    });
    if (!reduced.ok) {
      if (files.length === 1) return reduced;
      failed.push({ ...reduced.fault, file: reduced.fault.file ?? file });
      continue;
    }
    tell(0.7, "measuring");
    const assessment = assessAnisotropy(reduced.value, options);
    samples.push({
      index: sampleIndex,
      file,
      metadata: reduced.value.metadata,
      report: assessment.report,
      json: assessmentJson(assessment, reduced.value),
      text: assessmentText(file, assessment),
      files: given.values.has("out")
        ? await assessmentFiles(assessment, reduced.value, { writeHdf5, rasterise }, signal)
        : [],
    });
  }
  const [first] = failed;
  if (samples.length === 0 && first !== undefined) return { ok: false, fault: first };
  return success({ samples, failed, count: files.length });
}

async function answer(
  { samples, failed, count }: MeasuredSeries,
  {
    source,
    out,
    force,
    title,
    context,
  }: {
    readonly source: SeriesSource;
    readonly out: string | undefined;
    readonly force: boolean;
    readonly title: string;
    readonly context: CommandContext;
  },
): Promise<Result<CommandResult>> {
  const [first] = samples;
  if (first === undefined) throw new TypeError("a plan has at least one sample");
  const axis = seriesAxis(samples, sourceFor(source, samples));
  if (!axis.ok) return axis;
  const json = {
    ...first.json,
    ...(count > 1 ? { ...seriesJson(samples, axis.value), failed: failed.length } : {}),
  };
  if (out !== undefined) {
    const files = await outputFiles(samples, { axis: axis.value, title, json, isSeries: count > 1, context });
    context.signal.throwIfAborted();
    const written = await writeOutputFolder(resolve(out), files, force);
    if (!written.ok) return written;
  }
  const text = [
    ...samples.map((sample) => sample.text),
    ...(count > 1 ? [seriesText(samples, axis.value)] : []),
    ...(out === undefined ? [] : [`written to ${out}`]),
  ].join("\n\n");
  return success({ json: out === undefined ? json : { ...json, out: resolve(out) }, text, failed });
}

/** One sample's files lie at the top; those of a series each in a folder named after its sample. */
async function outputFiles(
  samples: readonly MeasuredSample[],
  {
    axis,
    title,
    json,
    isSeries,
    context,
  }: {
    readonly axis: SeriesAxis;
    readonly title: string;
    readonly json: object;
    readonly isSeries: boolean;
    readonly context: CommandContext;
  },
): Promise<readonly OutputFile[]> {
  const folders = uniqueFolders(samples.map(({ file }) => file));
  const own = samples.flatMap(({ files, report }, i) => {
    if (!isSeries) return files;
    const { folder } = folders[i] ?? { folder: String(i + 1) };
    const all = [...files, { path: "anisotropy.json", bytes: jsonBytes(anisotropyJson(report)) }];
    return all.map((file) => ({ ...file, path: `${folder}/${file.path}` }));
  });
  const series = await seriesFiles(samples, { axis, title }, { writeHdf5, rasterise }, context.signal);
  return [{ path: "anisotropy.json", bytes: jsonBytes(json) }, ...series, ...own];
}

function readOptions(given: CommandValues): Result<AnisotropyOptions> {
  const field = numberOption(given, "field", (value) => value >= -360 && value <= 360, "an angle in degrees");
  if (!field.ok) return field;
  const sector = numberOption(given, "sector", (value) => value > 0 && value <= 45, "above 0 and at most 45 degrees");
  if (!sector.ok) return sector;
  return success({ field_deg: field.value, sectorHalfWidth_deg: sector.value });
}

function numberOption(
  given: CommandValues,
  name: string,
  isFine: (value: number) => boolean,
  wanted: string,
): Result<number | undefined> {
  const text = given.values.get(name);
  if (text === undefined) return success(undefined);
  const value = text.trim() === "" ? Number.NaN : Number(text);
  if (isFine(value)) return success(value);
  return failure("out-of-range", `--${name} must be ${wanted}; found "${text}"`, { field: `--${name}` });
}

/** Where the values of a series come from. A typed value stands before what the run says: who types it means it. */
function readSource(given: CommandValues): Result<SeriesSource> {
  const from = given.values.get("series-from");
  const known = from === undefined ? undefined : knownSource(from);
  const typed = given.values.get("series-values");
  const label = given.values.get("series-label");
  if (typed === undefined) return success(known ?? { kind: "order" });
  const parts = typed.split(",").map((part) => part.trim());
  const values = parts.map((part) => (part === "" ? undefined : Number(part)));
  const isGap = (value: number | undefined) => value === undefined && known === undefined;
  if (values.some((value) => isGap(value) || (value !== undefined && !Number.isFinite(value))))
    return failure(
      "out-of-range",
      `--series-values must be numbers with commas between them, and gaps only beside --series-from; found "${typed}"`,
      { field: "--series-values" },
    );
  return success({
    kind: "typed",
    values,
    name: label === undefined ? undefined : labelAndUnit(label),
    otherwise: known,
  });
}

function knownSource(from: string): KnownSource {
  if (from === "file-name" || from === "title" || from === "start-time") return { kind: from };
  return { kind: "metadata", key: from };
}
