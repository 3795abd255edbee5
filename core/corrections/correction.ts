import type { BeamCircle } from "../beam/transmission.ts";
import type { Estimate } from "../model/estimate.ts";
import type { Frame } from "../model/frame.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { Measured } from "../model/measured.ts";
import type { RunMetadata } from "../model/metadata.ts";
import type { PlanCorrections, RunRole } from "../model/plan.ts";
import { type Result, success } from "../model/result.ts";
import type { GeometryMaps } from "./geometry-maps.ts";
import type { MeasuredSensitivity } from "./sensitivity.ts";

/** A run of the plan as the corrections need it: its counts as read, and what is known about it. */
export interface RunInputs {
  readonly role: RunRole;
  /** The file as the plan names it, for messages. */
  readonly file: string;
  readonly frame: Frame;
  /** False where pixel values are not whole counts. */
  readonly counting: boolean;
  /** Values of the plan, then those of the file. */
  readonly metadata: RunMetadata;
  readonly geometry: Geometry;
}

export type Runs = { readonly sample: RunInputs } & { readonly [role in RunRole]?: RunInputs };

/** The estimates of one reduction: one a run until the empty cell goes into the sample. */
export type Branches = { readonly [role in RunRole]?: Estimate };

/** A number that was given or measured, and how. */
export interface SourcedMeasure extends Measured {
  readonly from: string;
  /** Where the counts of its direct beams were summed. */
  readonly circle?: BeamCircle;
  /** The part of sigma that the flood brings through the pixels of the direct beam, over the value. */
  readonly sensitivityRelativeSigma?: number;
  /** Relative variance of the empty beam's intensity within it, and of which sum: what two such measures share. */
  readonly openBeam?: { readonly relativeVariance: number; readonly sum: string };
  /** In the plan's own keys and units, for the ledger. */
  readonly details?: Readonly<Record<string, unknown>>;
  readonly warnings?: readonly string[];
}

/** The mask that all scattering runs share, and how it came about. */
export interface MaskInputs {
  readonly bits: Uint16Array;
  readonly parameters: Readonly<Record<string, unknown>>;
  readonly sources: Readonly<Record<string, string>>;
  readonly warnings: readonly string[];
}

/** Everything that corrections may look at. What is measured from other runs is measured before (measure-runs.ts). */
export interface CorrectionContext {
  readonly settings: PlanCorrections;
  readonly runs: Runs;
  readonly branches: Branches;
  readonly mask: MaskInputs;
  readonly maps: GeometryMaps;
  readonly sensitivity?: MeasuredSensitivity;
  readonly transmission?: { readonly sample?: SourcedMeasure; readonly emptyCell?: SourcedMeasure };
  /** Counts of the direct beam per unit of normalisation. */
  readonly directBeam?: SourcedMeasure;
  /** Told of each correction once it was applied to all runs, for those who follow a point through them. */
  readonly afterStep?: (key: string) => void;
}

/** Changes the estimate of one run in place and leaves masked pixels alone. Can't fail: `prepare` has checked. */
export type Step = (estimate: Estimate) => LedgerEntry;

export interface Correction {
  /** The plan's key, or the name of the role that it treats. */
  readonly key: string;
  /** The runs that it is made for; others pass by. */
  readonly roles: readonly RunRole[];
  /** Checks what the step needs and changes nothing. Without its input: a step that only says "not applied" and why. */
  prepare(context: CorrectionContext, role: RunRole): Result<Step>;
}

export const SCATTERING_ROLES = ["sample", "emptyCell"] as const satisfies readonly RunRole[];
export const BEAM_ROLES = [
  "sampleTransmission",
  "emptyCellTransmission",
  "emptyBeam",
] as const satisfies readonly RunRole[];

export function notApplied(step: string, reason: string, warnings: readonly string[] = []): Result<Step> {
  const entry: LedgerEntry = { step, status: "not applied", reason, parameters: {}, sources: {}, warnings };
  return success(() => entry);
}

/** The beginning of an "applied" entry. */
export function applied(
  step: string,
  parameters: Readonly<Record<string, unknown>>,
  sources: Readonly<Record<string, string>>,
): LedgerEntry {
  return { step, status: "applied", parameters, sources, warnings: [] };
}
