import { qMaps } from "../averaging/average-frame.ts";
import { GeometryMaps } from "../corrections/geometry-maps.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerInput } from "../model/ledger.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import { buildAverages } from "./build-averages.ts";
import { buildEstimate } from "./build-estimate.ts";
import { buildMask } from "./build-mask.ts";
import { canonicalJson } from "./canonical-json.ts";
import { commonUncertainty } from "./common-uncertainty.ts";
import { findCentre } from "./find-centre.ts";
import { bankGeometry, collimationOf } from "./geometry-of.ts";
import { applyGravity } from "./gravity.ts";
import { type Inputs, loadInputs } from "./inputs.ts";
import { intensityMaps } from "./intensity-maps.ts";
import { type Plan, RUN_ROLES, type RunRole } from "./plan.ts";
import type { Reduction, RunSource } from "./reduction.ts";
import { type GeometryGround, keep, type ReductionCache, recall } from "./reduction-cache.ts";
import { resolutionOf } from "./resolution.ts";
import { idleMetadata, idleRuns, resolveMetadata } from "./resolve-metadata.ts";

export interface ReduceOptions {
  /** Which of a list of samples; the first by default. */
  readonly sampleIndex?: number;
  readonly signal: AbortSignal;
  /** 0 to 1, and what is being done. */
  readonly onProgress?: (fraction: number, what: string) => void;
  /** Of the program, for the ledger. */
  readonly version: string;
  /** What a caller keeps who reduces the same runs again. */
  readonly cache?: ReductionCache | undefined;
}

/** Reading takes most of the time of a reduction. */
const SHARE_OF_READING = 0.7;

/**
 * Runs a plan on one of its samples. A person's mistake comes back as a fault; a cancelled run throws what the signal
 * throws.
 */
export async function reducePlan(plan: Plan, source: RunSource, options: ReduceOptions): Promise<Result<Reduction>> {
  const { signal, onProgress, sampleIndex = 0 } = options;
  const inputs = await loadInputs(plan, source, {
    sampleIndex,
    signal,
    cache: options.cache,
    onFile: (done, total, file) =>
      onProgress?.((SHARE_OF_READING * done) / total, file === "" ? "read" : `reading ${file}`),
  });
  if (!inputs.ok) return inputs;
  return reduceInputs(plan, inputs.value, options);
}

/** The part of a reduction that needs no files: everything after `loadInputs`. */
export function reduceInputs(
  plan: Plan,
  inputs: Inputs,
  { signal, onProgress, version, cache }: ReduceOptions,
): Result<Reduction> {
  const { sample } = inputs.runs;
  const metadata = metadataByRole(plan, inputs);
  const bank = bankGeometry(sample.frame, metadata.sample, sample);
  if (!bank.ok) return bank;

  onProgress?.(SHARE_OF_READING, "masking");
  const maskKey = canonicalJson([plan.mask, metadata.sample.pixelSize, inputs.maskFile?.sha256, fingerprints(inputs)]);
  const mask = recall(cache?.mask, maskKey) ?? keep(cache?.mask, maskKey, buildMask(plan, inputs, metadata.sample));
  if (mask.bits.every((bits) => bits !== 0))
    return failure("inconsistent", `every pixel of ${sample.file} is masked: mask less`, {
      file: sample.file,
      field: "mask",
    });
  signal.throwIfAborted();

  onProgress?.(0.8, "finding the beam centre");
  const centreKey = canonicalJson([maskKey, plan.beamCentre, metadata.sample.beamCentre, bank.value]);
  const kept = recall(cache?.centre, centreKey);
  const centre =
    kept === undefined
      ? findCentre(plan, inputs, { metadata: metadata.sample, mask: mask.bits, geometry: bank.value })
      : success(kept);
  if (!centre.ok) return centre;
  keep(cache?.centre, centreKey, centre.value);
  const { x, y } = centre.value.centre;
  const found: Geometry = { ...bank.value, beamCentre: { x, y } };
  const beamRole = centre.value.beamRun?.role;
  const measuredAt = (beamRole && metadata[beamRole]?.wavelength?.value) ?? found.wavelength;
  const gravity = applyGravity(plan, found, metadata.sample, measuredAt);
  if (!gravity.ok) return gravity;
  const { geometry, qMaps: maps, maps: geometryMaps } = groundOf(gravity.value.geometry, cache);
  signal.throwIfAborted();

  onProgress?.(0.85, "correcting");
  const built = buildEstimate(plan, inputs, { geometry, metadata, mask, maps: geometryMaps, cache });
  if (!built.ok) return built;
  const { estimate, unit, transmission } = built.value;
  signal.throwIfAborted();

  onProgress?.(0.95, "averaging");
  const { resolution, entry: resolutionEntry } = resolutionOf(plan, geometry, metadata.sample);
  const averages = buildAverages(plan, estimate, { geometry, maps, unit, resolution });
  if (!averages.ok) return averages;

  const [maskEntry, ...corrections] = built.value.steps;
  const steps = [maskEntry!, centre.value.entry, gravity.value.entry, ...corrections, resolutionEntry];
  const warnings = [
    ...inputs.warnings,
    ...idleMetadata(plan),
    ...idleRuns(plan, [...built.value.used, ...(beamRole === undefined ? [] : [beamRole])]),
    ...varianceWarnings(inputs),
    ...steps.flatMap((step) => step.warnings),
    ...averages.value.warnings,
  ].filter((warning, i, all) => all.indexOf(warning) === i);
  onProgress?.(1, "done");
  return success({
    sampleFile: baseName(sample.file),
    title: plan.title ?? metadata.sample.title?.value ?? baseName(sample.file),
    metadata: metadata.sample,
    frame: sample.frame,
    geometry,
    collimation: collimationOf(metadata.sample),
    ...(resolution && { resolution }),
    beamCentre: { ...centre.value.centre, ...geometry.beamCentre },
    ...(mask.beamStop && { beamStop: mask.beamStop }),
    transmission,
    directBeams: built.value.directBeams,
    unit,
    estimate,
    maps: { ...intensityMaps(estimate), ...maps, mask: estimate.mask },
    curves: averages.value.curves,
    profiles: averages.value.profiles,
    ledger: {
      program: { name: "Halation", version },
      plan,
      inputs: ledgerInputs(inputs),
      steps,
      commonUncertainty: commonUncertainty(estimate),
      warnings,
    },
    warnings,
  });
}

/** The numbers of every run that the plan names. */
export function metadataByRole(
  plan: Plan,
  inputs: Inputs,
): { readonly sample: RunMetadata } & { readonly [role in RunRole]?: RunMetadata } {
  const byRole: { [role in RunRole]?: RunMetadata } = {};
  for (const role of RUN_ROLES) {
    const run = inputs.runs[role];
    if (run !== undefined) byRole[role] = resolveMetadata(plan, role, run.metadata);
  }
  return { ...byRole, sample: byRole.sample! };
}

function groundOf(geometry: Geometry, cache: ReductionCache | undefined): GeometryGround {
  const key = canonicalJson(geometry);
  const known = recall(cache?.ground, key);
  return known ?? keep(cache?.ground, key, { geometry, qMaps: qMaps(geometry), maps: new GeometryMaps() });
}

/** Which measurements a stage saw. */
function fingerprints({ runs }: Inputs): readonly unknown[] {
  return RUN_ROLES.map((role) => [
    runs[role]?.sha256,
    runs[role]?.dataset,
    runs[role]?.frame.rowOrder,
    runs[role]?.frame.transpose,
  ]);
}

function varianceWarnings(inputs: Inputs): string[] {
  return Object.values(inputs.runs)
    .filter(({ counting, frame }) => !counting && frame.variance === undefined)
    .map(({ file }) => `${file}: values are not whole counts and carry no variance; they are taken as Poisson counts`);
}

function ledgerInputs({ runs, maskFile }: Inputs): LedgerInput[] {
  const files = RUN_ROLES.flatMap((role) => {
    const run = runs[role];
    if (run === undefined) return [];
    const { file, sha256, format, dataset } = run;
    return [{ role, file, sha256, format, dataset }];
  });
  return maskFile === undefined
    ? files
    : [...files, { role: "mask", file: maskFile.file, sha256: maskFile.sha256, format: "mask", dataset: "" }];
}

function baseName(file: string): string {
  return file.split(/[/\\]/).at(-1) ?? file;
}
