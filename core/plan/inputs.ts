import type { Bank, Frame } from "../model/frame.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import { canonicalJson } from "./canonical-json.ts";
import { type Plan, RUN_ROLES, type RunReference, type RunRole } from "./plan.ts";
import { readBank } from "./read-bank.ts";
import type { RunSource } from "./reduction.ts";
import { keepOnly, type ReductionCache } from "./reduction-cache.ts";

/** A run of the plan with its pixels read. */
export interface InputRun {
  readonly role: RunRole;
  readonly file: string;
  readonly sha256: string;
  readonly format: string;
  /** Where the pixels stand in the file, and which frame. */
  readonly dataset: string;
  readonly frame: Frame;
  readonly counting: boolean;
  /** What the file says; the bank's own values win over the run's. */
  readonly metadata: RunMetadata;
  readonly warnings: readonly string[];
}

export interface MaskFile {
  readonly file: string;
  readonly sha256: string;
  readonly width: number;
  readonly height: number;
  readonly masked: Uint8Array;
}

/** Everything that a reduction reads. */
export interface Inputs {
  readonly runs: { readonly sample: InputRun } & { readonly [role in RunRole]?: InputRun };
  readonly maskFile?: MaskFile;
  readonly warnings: readonly string[];
}

export interface LoadOptions {
  /** Which of a list of samples. */
  readonly sampleIndex?: number;
  readonly signal: AbortSignal;
  /** Files read and files to read. */
  readonly onFile?: (done: number, total: number, file: string) => void;
  readonly cache?: ReductionCache | undefined;
}

/** The references of a plan's samples, as a list. */
export function sampleReferences(plan: Plan): readonly RunReference[] {
  const { sample } = plan.runs;
  return isList(sample) ? sample : [sample];
}

/** Opens and reads the runs of a plan for one of its samples, and checks that they fit together. */
export async function loadInputs(plan: Plan, source: RunSource, options: LoadOptions): Promise<Result<Inputs>> {
  const { sampleIndex = 0, signal, onFile, cache } = options;
  const samples = sampleReferences(plan);
  const sample = samples[sampleIndex];
  if (sample === undefined)
    throw new RangeError(`the plan has ${samples.length} samples, not one numbered ${sampleIndex}`);
  const references = RUN_ROLES.flatMap((role) => {
    const reference = role === "sample" ? sample : plan.runs[role];
    const field = role === "sample" && isList(plan.runs.sample) ? `runs.sample[${sampleIndex}]` : `runs.${role}`;
    return reference === undefined ? [] : [{ role, reference, field }];
  });

  const runs: { [role in RunRole]?: InputRun } = {};
  const keys = new Set<string>();
  for (const [i, { role, reference, field }] of references.entries()) {
    signal.throwIfAborted();
    onFile?.(i, references.length, fileOf(reference));
    const key = canonicalJson([role, reference]);
    const kept = cache?.runs.get(key);
    const run = kept === undefined ? await loadRun(role, reference, { source, signal, field }) : success(kept);
    if (!run.ok) return run;
    runs[role] = run.value;
    cache?.runs.set(key, run.value);
    keys.add(key);
  }
  keepOnly(cache?.runs, keys);
  onFile?.(references.length, references.length, "");
  const loaded = { ...runs, sample: runs.sample! };
  for (const { role, field } of references) {
    const misfit = misfitOf(loaded.sample, runs[role]!, field);
    if (misfit !== undefined) return misfit;
  }
  const maskFile = await loadMask(plan.mask?.file, loaded.sample, { source, signal, cache });
  if (!maskFile.ok) return maskFile;
  return success({
    runs: loaded,
    ...(maskFile.value && { maskFile: maskFile.value }),
    warnings: [...Object.values(runs).flatMap(({ warnings }) => warnings), ...sharedFileWarnings(Object.values(runs))],
  });
}

async function loadRun(
  role: RunRole,
  reference: RunReference,
  { source, signal, field }: { readonly source: RunSource; readonly signal: AbortSignal; readonly field: string },
): Promise<Result<InputRun>> {
  const opened = await source.openRun(reference, role, signal);
  if (!opened.ok) {
    const { fault } = opened;
    return { ok: false, fault: { ...fault, file: fault.file ?? fileOf(reference), field: fault.field ?? field } };
  }
  const { run, file, sha256 } = opened.value;
  try {
    const bank = run.banks[0];
    if (bank === undefined) return failure("missing", `${file} holds no detector frame`, { file, field });
    const wanted = typeof reference === "string" ? undefined : reference.frame;
    const read = await readBank(bank, wanted, { signal, file, field });
    if (!read.ok) return read;
    const others = run.banks.slice(1).map(({ name }) => name);
    return success({
      role,
      file,
      sha256,
      format: run.format,
      dataset: datasetName(bank, read.value.frames),
      frame: read.value.frame,
      counting: bank.counting,
      metadata: { ...run.metadata, ...bank.metadata },
      warnings: [
        ...(others.length > 0
          ? [`${file}: bank ${bank.name} is used, ${others.join(", ")} not; choose by "dataset"`]
          : []),
        ...[...run.warnings, ...read.value.frame.warnings, ...read.value.warnings].map((text) => `${file}: ${text}`),
      ],
    });
  } finally {
    run.close();
  }
}

function datasetName({ path, frames }: Bank, used: number | "sum"): string {
  if (frames === 1) return path;
  return used === "sum" ? `${path}, sum of ${frames} frames` : `${path}, frame ${used}`;
}

function misfitOf(sample: InputRun, run: InputRun, field: string): ReturnType<typeof failure> | undefined {
  const [own, its] = [sample.frame, run.frame];
  const place = { file: run.file, field };
  if (own.width !== its.width || own.height !== its.height)
    return failure(
      "inconsistent",
      `${run.file} is ${its.width} x ${its.height}, the sample ${sample.file} is ${own.width} x ${own.height}: all runs must come from the same detector`,
      place,
    );
  if (own.rowOrder !== its.rowOrder || own.transpose !== its.transpose)
    return failure(
      "inconsistent",
      `${run.file} is stored ${orientationText(its)}, the sample ${sample.file} ${orientationText(own)}: set rowOrder and transpose of ${field} so that the pixels are the same`,
      place,
    );
  return undefined;
}

function orientationText({ rowOrder, transpose }: Frame): string {
  return transpose ? `${rowOrder} and transposed` : rowOrder;
}

async function loadMask(
  path: string | undefined,
  sample: InputRun,
  {
    source,
    signal,
    cache,
  }: { readonly source: RunSource; readonly signal: AbortSignal; readonly cache: ReductionCache | undefined },
): Promise<Result<MaskFile | undefined>> {
  keepOnly(cache?.maskFiles, new Set(path === undefined ? [] : [path]));
  if (path === undefined) return success(undefined);
  let mask = cache?.maskFiles.get(path);
  if (mask === undefined) {
    const opened = await source.openMask(path, signal);
    if (!opened.ok) {
      const { fault } = opened;
      return { ok: false, fault: { ...fault, file: fault.file ?? path, field: fault.field ?? "mask.file" } };
    }
    mask = { file: path, ...opened.value };
    cache?.maskFiles.set(path, mask);
  }
  const { frame } = sample;
  if (mask.width !== frame.width || mask.height !== frame.height)
    return failure(
      "inconsistent",
      `the frame is ${frame.width} x ${frame.height}; the mask ${path} is ${mask.width} x ${mask.height}`,
      { file: path, field: "mask.file" },
    );
  return success(mask);
}

/** One measurement in two roles would have to be counted once; taken for two, its sigma is too small or too large. */
function sharedFileWarnings(runs: readonly InputRun[]): string[] {
  return runs.flatMap((run, i) => {
    const twin = runs
      .slice(0, i)
      .find((other) => canonicalJson([other.sha256, other.dataset]) === canonicalJson([run.sha256, run.dataset]));
    return twin === undefined
      ? []
      : [`runs.${run.role} is the same measurement as runs.${twin.role}; their uncertainties are taken as independent`];
  });
}

function fileOf(reference: RunReference): string {
  return typeof reference === "string" ? reference : reference.file;
}

function isList(sample: Plan["runs"]["sample"]): sample is readonly RunReference[] {
  return Array.isArray(sample);
}
