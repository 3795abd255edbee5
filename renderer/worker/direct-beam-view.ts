import { type DirectBeam, findDirectBeam } from "../../core/beam/centre-of-mass.ts";
import type { Orientation, PixelArray } from "../../core/model/frame.ts";
import type { RunMetadata } from "../../core/model/metadata.ts";
import { type Result, success } from "../../core/model/result.ts";
import { loadInputs } from "../../core/plan/inputs.ts";
import type { Plan, RunRole } from "../../core/plan/plan.ts";
import type { RunSource } from "../../core/plan/reduction.ts";
import { resolveMetadata } from "../../core/plan/resolve-metadata.ts";

/** In the order in which a person compares them: what is divided by comes first. */
export const BEAM_ROLES = [
  "emptyBeam",
  "sampleTransmission",
  "emptyCellTransmission",
] as const satisfies readonly RunRole[];
export type BeamRole = (typeof BEAM_ROLES)[number];

/** A direct-beam run: its frame as read, and what stands in it. */
export interface ShownBeam {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly orientation: Orientation;
  /** A copy that belongs to the window; row-major, in stored order. */
  readonly counts: PixelArray;
  /** The spot by the same search that the corrections use. */
  readonly spot: Result<DirectBeam>;
  /** The plan's numbers for this role, else the file's. */
  readonly metadata: Pick<RunMetadata, "attenuation" | "monitorCounts" | "countTime">;
}

export interface DirectBeamView {
  readonly role: BeamRole;
  readonly shown: Result<ShownBeam>;
}

/** Every direct-beam run that the plan names. Each is read by itself: one that can't be read keeps no other from view. */
export async function directBeamViews(
  plan: Plan,
  source: RunSource,
  signal: AbortSignal,
): Promise<readonly DirectBeamView[]> {
  const views: DirectBeamView[] = [];
  for (const role of BEAM_ROLES) {
    if (plan.runs[role] === undefined) continue;
    views.push({ role, shown: await shownBeam(plan, role, { source, signal }) });
  }
  return views;
}

async function shownBeam(
  plan: Plan,
  role: BeamRole,
  { source, signal }: { readonly source: RunSource; readonly signal: AbortSignal },
): Promise<Result<ShownBeam>> {
  const reference = plan.runs[role];
  if (reference === undefined) throw new TypeError(`the plan has no ${role}`);
  const inputs = await loadInputs({ planVersion: 1, runs: { sample: reference } }, source, { signal });
  if (!inputs.ok) return { ok: false, fault: { ...inputs.fault, field: `runs.${role}` } };
  const { file, frame, metadata } = inputs.value.runs.sample;
  const { attenuation, monitorCounts, countTime } = resolveMetadata(plan, role, metadata);
  return success({
    file,
    width: frame.width,
    height: frame.height,
    orientation: { rowOrder: frame.rowOrder, transpose: frame.transpose },
    counts: frame.counts.slice(),
    spot: findDirectBeam(frame),
    metadata: {
      ...(attenuation && { attenuation }),
      ...(monitorCounts && { monitorCounts }),
      ...(countTime && { countTime }),
    },
  });
}
