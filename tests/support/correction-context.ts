import type { Branches, CorrectionContext, RunInputs, Runs } from "../../core/corrections/correction.ts";
import { GeometryMaps } from "../../core/corrections/geometry-maps.ts";
import { CORRECTIONS } from "../../core/corrections/index.ts";
import { runCorrections } from "../../core/corrections/run-corrections.ts";
import { startEstimate } from "../../core/corrections/start-estimate.ts";
import type { Estimate } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import type { RunMetadata } from "../../core/model/metadata.ts";
import type { PlanCorrections, RunRole } from "../../core/model/plan.ts";
import { describeFault } from "../../core/model/result.ts";

/** What a test says of a run. */
export interface RunSketch {
  readonly counts: ArrayLike<number>;
  readonly mask?: Uint16Array;
  readonly metadata?: RunMetadata;
}

export interface SketchedContext extends CorrectionContext {
  readonly branches: Branches & { readonly sample: Estimate };
}

export function sketchGeometry(width: number, height: number): Geometry {
  return {
    width,
    height,
    pixelSizeX: 0.005,
    pixelSizeY: 0.005,
    distance: 4,
    wavelength: 6,
    beamCentre: { x: (width - 1) / 2, y: (height - 1) / 2 },
    tilt: [0, 0],
    rowOrder: "bottom-up",
    transpose: false,
  };
}

/** Everything that corrections look at, for runs of `width` columns. */
export function sketchContext(
  settings: PlanCorrections,
  sketches: { readonly sample: RunSketch } & { readonly [role in RunRole]?: RunSketch },
  more: Partial<Omit<CorrectionContext, "settings" | "runs" | "branches">> & {
    readonly width?: number;
    readonly geometry?: Geometry;
  } = {},
): SketchedContext {
  const { width = sketches.sample.counts.length, geometry: given, ...rest } = more;
  const height = sketches.sample.counts.length / width;
  const geometry = given ?? sketchGeometry(width, height);
  const runs = Object.fromEntries(
    Object.entries(sketches).map(([role, { counts, mask, metadata }]) => [
      role,
      runOf(role as RunRole, counts, mask, metadata, geometry),
    ]),
  ) as unknown as Runs;
  const branches = Object.fromEntries(
    Object.entries(runs).map(([role, run]) => [role, startEstimate(run)]),
  ) as unknown as SketchedContext["branches"];
  const mask = { bits: new Uint16Array(width * height), parameters: {}, sources: {}, warnings: [] };
  return { settings, runs, branches, mask, maps: new GeometryMaps(), ...rest };
}

function runOf(
  role: RunRole,
  counts: ArrayLike<number>,
  mask: Uint16Array | undefined,
  metadata: RunMetadata | undefined,
  geometry: Geometry,
): RunInputs {
  const { width, height, rowOrder, transpose } = geometry;
  const values = Float64Array.from(counts);
  return {
    role,
    file: `${role}.npy`,
    counting: true,
    metadata: metadata ?? {},
    geometry,
    frame: {
      width,
      height,
      rowOrder,
      transpose,
      counts: values,
      mask: mask ?? new Uint16Array(values.length),
      warnings: [],
    },
  };
}

/** Runs corrections over sample, empty cell and blocked beam; the list in the published order unless another is given. */
export function correct(context: CorrectionContext, list = CORRECTIONS): ReturnType<typeof stepsOf> {
  return stepsOf(runCorrections(list, context, rolesOf(context)));
}

export function faultOf(context: CorrectionContext): { readonly message: string; readonly field?: string } {
  const result = runCorrections(CORRECTIONS, context, rolesOf(context));
  if (result.ok) throw new Error("a fault was expected");
  return result.fault;
}

function rolesOf({ runs }: CorrectionContext): RunRole[] {
  return (["sample", "emptyCell", "blockedBeam"] as const).filter((role) => runs[role] !== undefined);
}

function stepsOf(result: ReturnType<typeof runCorrections>) {
  if (!result.ok) throw new Error(describeFault(result.fault));
  return result.value;
}
