import type { Run } from "../model/frame.ts";
import { METADATA_FIELDS, type MetadataField, type RunMetadata, type Sourced } from "../model/metadata.ts";
import { type Result, success } from "../model/result.ts";
import { bankStatistics, type FrameStatistics } from "./statistics.ts";

/** One value as the plan's keys and units have it. */
export interface DescribedValue {
  readonly value: number | string | readonly number[];
  readonly from: string;
  readonly unit?: string;
  readonly asWritten?: string;
  readonly guessed?: boolean;
  readonly note?: string;
}

/** What `inspect` says of a file, as JSON. */
export interface RunDescription {
  readonly file: string;
  readonly format: string;
  readonly formatTitle: string;
  readonly banks: readonly {
    readonly name: string;
    readonly path: string;
    readonly width: number;
    readonly height: number;
    readonly frames: number;
    readonly axis: string;
    readonly counting: boolean;
    readonly rowOrder: string;
    readonly transpose: boolean;
    readonly statistics: FrameStatistics;
  }[];
  /** Of the run and its first bank, by the keys of a plan. */
  readonly metadata: Readonly<Record<string, DescribedValue>>;
  /** Keys of a plan that a reduction would want and the file does not give. */
  readonly missing: readonly string[];
  /** Of the first bank. */
  readonly statistics: FrameStatistics;
  readonly alternatives: Readonly<Record<string, readonly DescribedValue[]>>;
  readonly notes: readonly string[];
  readonly warnings: readonly string[];
}

const TEXT_KEYS = ["title", "sampleName", "runNumber", "startTime", "endTime", "instrument"] as const;

/** Reads every frame of the run once for its statistics, and lists what the file says of it. */
export async function describeRun(run: Run, signal: AbortSignal): Promise<Result<RunDescription>> {
  const banks: RunDescription["banks"][number][] = [];
  const warnings: string[] = [...run.warnings];
  for (const bank of run.banks) {
    const read = await bankStatistics(bank, signal);
    if (!read.ok) return read;
    const { name, path, width, height, frames, counting, rowOrder, transpose, axis } = bank;
    const { statistics } = read.value;
    banks.push({ name, path, width, height, frames, axis: axis.kind, counting, rowOrder, transpose, statistics });
    warnings.push(...read.value.warnings.map((warning) => (run.banks.length > 1 ? `${name}: ${warning}` : warning)));
  }
  const metadata: RunMetadata = { ...run.metadata, ...run.banks[0]!.metadata };
  const numbers = METADATA_FIELDS.flatMap((field) => {
    const found = metadata[field.key];
    return found === undefined ? [] : [[field.fileKey, described(found, field)] as const];
  });
  const texts = TEXT_KEYS.flatMap((key) => {
    const found = metadata[key];
    return found === undefined ? [] : [[key, described(found, undefined)] as const];
  });
  const missing = METADATA_FIELDS.filter(({ key, need }) => need === "reduction" && metadata[key] === undefined);
  return success({
    file: run.name,
    format: run.format,
    formatTitle: run.formatTitle,
    banks,
    metadata: Object.fromEntries([...numbers, ...texts]),
    missing: missing.map(({ fileKey }) => fileKey),
    statistics: banks[0]!.statistics,
    alternatives: describeAlternatives(run),
    notes: run.notes,
    warnings,
  });
}

function describeAlternatives(run: Run): Record<string, DescribedValue[]> {
  return Object.fromEntries(
    Object.entries(run.alternatives).map(([key, values]) => {
      const field = METADATA_FIELDS.find((candidate) => candidate.key === key);
      // As the file has them: an alternative may have no unit, so it is not in the plan's either.
      return [field?.fileKey ?? key, values.map((value) => described(value, undefined))];
    }),
  );
}

type Found = Sourced<number | string | readonly number[]>;

function described(found: Found, field: MetadataField | undefined): DescribedValue {
  const { value, from, asWritten, guessed, note } = found;
  return {
    value: field === undefined ? value : inFileUnit(value, field),
    from,
    ...(field !== undefined && field.unit !== "" && { unit: field.unit }),
    ...(asWritten !== undefined && { asWritten }),
    ...(guessed === true && { guessed }),
    ...(note !== undefined && { note }),
  };
}

function inFileUnit(value: Found["value"], { scale }: MetadataField): Found["value"] {
  if (typeof value === "string") return value;
  // 15 digits: what a division by 0.001 adds in the last bit is not the file's.
  const convert = (number: number): number => (scale === 1 ? number : Number((number / scale).toPrecision(15)));
  return typeof value === "number" ? convert(value) : value.map(convert);
}
