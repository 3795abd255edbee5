import type { Branches, CorrectionContext, RunInputs, Runs } from "../corrections/correction.ts";
import { GeometryMaps } from "../corrections/geometry-maps.ts";
import { CORRECTIONS } from "../corrections/index.ts";
import { type Measurements, measureRuns } from "../corrections/measure-runs.ts";
import { runCorrections } from "../corrections/run-corrections.ts";
import { startEstimate } from "../corrections/start-estimate.ts";
import type { IntensityUnit } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { Measured } from "../model/measured.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { type Result, success } from "../model/result.ts";
import type { BuiltMask } from "./build-mask.ts";
import { canonicalJson } from "./canonical-json.ts";
import { geometryLike } from "./geometry-of.ts";
import type { Inputs } from "./inputs.ts";
import { intensityUnit } from "./intensity-unit.ts";
import { type Plan, RUN_ROLES, type RunRole } from "./plan.ts";
import type { Reduction, SummedBeam } from "./reduction.ts";
import { keep, type ReductionCache, recall } from "./reduction-cache.ts";

export interface BuiltEstimate {
  readonly estimate: Estimate;
  readonly unit: IntensityUnit;
  readonly transmission: Reduction["transmission"];
  readonly directBeams: readonly SummedBeam[];
  readonly steps: readonly LedgerEntry[];
  /** Runs that took part. */
  readonly used: readonly RunRole[];
}

export type RoleMetadata = { readonly [role in RunRole]?: RunMetadata };

/** Runs every correction of the plan: first the runs that others are measured with, then the ordered list. */
export function buildEstimate(
  plan: Plan,
  inputs: Inputs,
  {
    geometry,
    metadata,
    mask,
    maps = new GeometryMaps(),
    afterStep,
    cache,
  }: {
    readonly geometry: Geometry;
    readonly metadata: RoleMetadata;
    readonly mask: BuiltMask;
    /** Kept by a caller that reduces on the same geometry again. */
    readonly maps?: GeometryMaps | undefined;
    /** Told of each correction with the sample's estimate as it then is. */
    readonly afterStep?: ((key: string, sample: Estimate) => void) | undefined;
    readonly cache?: ReductionCache | undefined;
  },
): Result<BuiltEstimate> {
  const runs = runInputs(inputs, geometry, metadata);
  if (!runs.ok) return runs;
  const settings = plan.corrections ?? {};
  const key = measurementKey(plan, inputs, geometry, metadata);
  const kept = recall(cache?.measured, key);
  const measured = kept === undefined ? measureRuns(settings, runs.value, { mask, maps }) : success(kept);
  if (!measured.ok) return measured;
  keep(cache?.measured, key, measured.value);

  const { sample, emptyCell, blockedBeam } = runs.value;
  const branches: Branches & { readonly sample: Estimate } = {
    sample: startEstimate(sample, mask.bits),
    ...(emptyCell && { emptyCell: startEstimate(emptyCell, mask.bits) }),
    ...(blockedBeam && { blockedBeam: startEstimate(blockedBeam, mask.bits) }),
  };
  const { evaluated, ...measurements } = measured.value;
  const context: CorrectionContext = {
    settings,
    runs: runs.value,
    branches,
    mask,
    maps,
    ...measurements,
    ...(afterStep && { afterStep: (key: string) => afterStep(key, branches.sample) }),
  };
  const roles = (["sample", "emptyCell", "blockedBeam"] as const).filter((role) => {
    // A blocked beam that is not subtracted needs no count time for its dead time.
    return runs.value[role] !== undefined && (role !== "blockedBeam" || settings.blockedBeam !== "none");
  });
  const steps = runCorrections(CORRECTIONS, context, roles);
  if (!steps.ok) return steps;
  const { sample: sampleT, emptyCell: cellT } = measured.value.transmission ?? {};
  return success({
    estimate: branches.sample,
    unit: intensityUnit(steps.value),
    transmission: {
      ...(sampleT && { sample: bare(sampleT) }),
      ...(cellT && { emptyCell: bare(cellT) }),
    },
    steps: steps.value,
    directBeams: summedBeams(measured.value, runs.value),
    used: [...new Set<RunRole>([...roles, ...evaluated])],
  });
}

/** The direct beams that were summed, each with the circle of its sum. */
function summedBeams({ transmission, directBeam }: Measurements, runs: Runs): readonly SummedBeam[] {
  const { sample, emptyCell } = transmission ?? {};
  const circles = {
    emptyBeam: (directBeam ?? sample ?? emptyCell)?.circle,
    sampleTransmission: sample?.circle,
    emptyCellTransmission: emptyCell?.circle,
  } as const;
  return (Object.keys(circles) as (keyof typeof circles)[]).flatMap((role) => {
    const run = runs[role];
    const circle = circles[role];
    return run === undefined || circle === undefined
      ? []
      : [{ role, file: run.file, frame: run.frame, geometry: run.geometry, circle }];
  });
}

/** Everything that `measureRuns` looks at: of the sample only what says whether and how its transmission is measured. */
function measurementKey(plan: Plan, { runs }: Inputs, geometry: Geometry, metadata: RoleMetadata): string {
  const others = RUN_ROLES.filter((role) => role !== "sample");
  return canonicalJson([
    plan.corrections,
    geometry,
    metadata.sample?.transmission,
    metadata.sample?.monitorCounts === undefined,
    others.map((role) => [plan.runs[role], runs[role]?.file, runs[role]?.sha256, metadata[role]]),
  ]);
}

function runInputs(inputs: Inputs, geometry: Geometry, metadata: RoleMetadata): Result<Runs> {
  const runs: { [role in RunRole]?: RunInputs } = {};
  for (const role of RUN_ROLES) {
    const run = inputs.runs[role];
    if (run === undefined) continue;
    const own = metadata[role] ?? {};
    const its = role === "sample" ? success(geometry) : geometryLike(geometry, own, run);
    if (!its.ok) return its;
    runs[role] = { role, file: run.file, frame: run.frame, counting: run.counting, metadata: own, geometry: its.value };
  }
  return success({ ...runs, sample: runs.sample! });
}

function bare({ value, sigma }: Measured): Measured {
  return { value, ...(sigma !== undefined && { sigma }) };
}
