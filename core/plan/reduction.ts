import type { BeamCircle } from "../beam/transmission.ts";
import type { QResolution } from "../geometry/resolution.ts";
import type { Curve, IntensityUnit, Profile } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import type { Frame, Run } from "../model/frame.ts";
import type { Collimation, Geometry } from "../model/geometry.ts";
import type { Ledger } from "../model/ledger.ts";
import type { BeamCentre, Measured, StopOutline } from "../model/measured.ts";
import type { RunMetadata } from "../model/metadata.ts";
import type { Result } from "../model/result.ts";
import type { RunReference, RunRole } from "./plan.ts";

export type { BeamCentre, Measured, StopOutline } from "../model/measured.ts";

/** A run as a plan needs it: opened, named as the plan names it, and fingerprinted. */
export interface LoadedRun {
  readonly run: Run;
  /** The file as the plan names it. */
  readonly file: string;
  readonly sha256: string;
}

/** Who finds the files of a plan. The command line and the window's worker each have one. Who asked closes the run. */
export interface RunSource {
  openRun(reference: RunReference, role: RunRole, signal: AbortSignal): Promise<Result<LoadedRun>>;
  /** A mask file: non-zero = masked, in the shape of the frame. */
  openMask(
    path: string,
    signal: AbortSignal,
  ): Promise<
    Result<{ readonly width: number; readonly height: number; readonly masked: Uint8Array; readonly sha256: string }>
  >;
}

/** Everything that came of one sample under a plan. */
/** A direct-beam run and where its counts were summed. */
export interface SummedBeam {
  readonly role: "emptyBeam" | "sampleTransmission" | "emptyCellTransmission";
  readonly file: string;
  readonly frame: Frame;
  readonly geometry: Geometry;
  readonly circle: BeamCircle;
}

export interface Reduction {
  /** File name of the sample without its folder. */
  readonly sampleFile: string;
  readonly title: string;
  readonly metadata: RunMetadata;
  readonly frame: Frame;
  readonly geometry: Geometry;
  readonly collimation: Collimation;
  /** Absent where the camera is not known well enough; the ledger says what lacks. */
  readonly resolution?: QResolution;
  readonly beamCentre: BeamCentre;
  /** Outline of the automatic beam-stop mask, where one was asked for and found. */
  readonly beamStop?: StopOutline;
  /** The direct-beam runs that transmissions and scale were measured from. */
  readonly directBeams: readonly SummedBeam[];
  readonly transmission: { readonly sample?: Measured; readonly emptyCell?: Measured };
  readonly unit: IntensityUnit;
  readonly estimate: Estimate;
  /** Float64 maps over the frame in stored order; phi in rad. Masked pixels: NaN in intensity and sigma. */
  readonly maps: {
    readonly intensity: Float64Array;
    readonly sigma: Float64Array;
    readonly q: Float64Array;
    readonly phi: Float64Array;
    readonly mask: Uint16Array;
  };
  readonly curves: readonly Curve[];
  readonly profiles: readonly Profile[];
  readonly ledger: Ledger;
  readonly warnings: readonly string[];
}
