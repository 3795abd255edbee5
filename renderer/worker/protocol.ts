import type { ResidualPart } from "../../core/anisotropy/residual-parts.ts";
import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import type { ExportFile } from "../../core/host-contract.ts";
import type { Curve, IntensityUnit, Profile } from "../../core/model/curve.ts";
import type { Orientation, PixelArray, StackAxis } from "../../core/model/frame.ts";
import type { Collimation, Geometry } from "../../core/model/geometry.ts";
import type { Ledger } from "../../core/model/ledger.ts";
import type { RunMetadata, Sourced } from "../../core/model/metadata.ts";
import type { Fault, Result } from "../../core/model/result.ts";
import type { AnisotropyOptions } from "../../core/plan/assess-anisotropy.ts";
import type { StopLimits } from "../../core/plan/assess-stop.ts";
import type { OutputKind, Plan, PlanAverage, RunReference, RunRole } from "../../core/plan/plan.ts";
import type { WalkStep } from "../../core/plan/point-walk.ts";
import type { BeamCentre, Measured, StopOutline } from "../../core/plan/reduction.ts";
import type { AnisotropyView, SeriesSampleView } from "./anisotropy-view.ts";
import type { FileCurve, ToolAnswer, ToolAsk } from "./curve-bench.ts";
import type { DirectBeamView } from "./direct-beam-view.ts";
import type { FileBeingRead } from "./reading-watch.ts";

/** What a file holds, without its pixels. */
export interface RunDescription {
  readonly name: string;
  readonly formatTitle: string;
  readonly metadata: RunMetadata;
  readonly alternatives: Readonly<Record<string, readonly Sourced<number | string | readonly number[]>[]>>;
  readonly banks: readonly {
    readonly name: string;
    readonly path: string;
    readonly width: number;
    readonly height: number;
    readonly frames: number;
    readonly axis: StackAxis;
    readonly metadata: RunMetadata;
  }[];
  readonly notes: readonly string[];
  readonly warnings: readonly string[];
}

/** A reduction as the window shows it. Arrays are copies that belong to the window; row-major, in stored order. */
export interface ReductionView {
  /** Grows with every answer: what was derived from one reduction is not taken for another's. */
  readonly serial: number;
  readonly sampleFile: string;
  readonly title: string;
  readonly metadata: RunMetadata;
  readonly frame: {
    /** Changes when another frame is shown. */
    readonly id: string;
    readonly width: number;
    readonly height: number;
    readonly orientation: Orientation;
    readonly counts: PixelArray;
    readonly warnings: readonly string[];
  };
  readonly mask: Uint16Array;
  readonly geometry: Geometry;
  readonly collimation: Collimation;
  readonly beamCentre: BeamCentre;
  readonly beamStop?: StopOutline;
  readonly transmission: { readonly sample?: Measured; readonly emptyCell?: Measured };
  readonly unit: IntensityUnit;
  readonly curves: readonly Curve[];
  readonly profiles: readonly Profile[];
  readonly ledger: Ledger;
  readonly warnings: readonly string[];
  /** How long the worker took, ms. */
  readonly duration_ms: number;
}

/** A reduction as the worker sends it: without the counts where the window has them. */
export type ReductionAnswer = Omit<ReductionView, "frame"> & {
  readonly frame: Omit<ReductionView["frame"], "counts"> & { readonly counts: PixelArray | undefined };
};

/** Curves that follow a drag: fast sums over the counts and norms of the last reduction. */
export interface FollowView {
  readonly curves: readonly Curve[];
  readonly profiles: readonly Profile[];
  readonly duration_ms: number;
}

/** Everything that the window asks of its worker, with what comes back. */
export interface Questions {
  /** Bytes of a file, under the path that plans name it by. Another stamp: another content. */
  readonly "give-file": {
    readonly ask: { readonly path: string; readonly stamp: string; readonly name: string; readonly blob: Blob };
    readonly answer: undefined;
  };
  /** The counts of a run alone, for leafing through frames. */
  readonly "read-frame": {
    readonly ask: { readonly reference: RunReference };
    readonly answer: {
      readonly width: number;
      readonly height: number;
      readonly orientation: Orientation;
      readonly counts: PixelArray;
    };
  };
  /** A file that is no longer shown: a frame of a watch. */
  readonly "drop-file": {
    readonly ask: { readonly path: string };
    readonly answer: undefined;
  };
  readonly "describe-run": {
    readonly ask: { readonly reference: RunReference; readonly role: RunRole };
    readonly answer: RunDescription;
  };
  readonly reduce: {
    /** `knownFrame`: id of the frame that the window has, whose counts need not be sent again. */
    readonly ask: { readonly plan: Plan; readonly sampleIndex: number; readonly knownFrame: string | undefined };
    readonly answer: ReductionAnswer;
  };
  readonly follow: {
    readonly ask: {
      readonly beamCentre: { readonly x: number; readonly y: number };
      readonly averages: readonly PlanAverage[];
    };
    readonly answer: FollowView;
  };
  /** Which bin of an average each pixel of the shown frame belongs to; -1: none. */
  readonly "bin-map": {
    readonly ask: { readonly averageId: string };
    readonly answer: { readonly serial: number; readonly bins: Int32Array };
  };
  /** A point of an average of the shown reduction, followed through the corrections. */
  readonly "walk-point": {
    readonly ask: { readonly averageId: string; readonly index: number };
    readonly answer: { readonly walk: readonly WalkStep[] };
  };
  /** Harmonics of the annuli of the shown reduction: they take longer than the averages, so they come after. */
  readonly analyse: {
    readonly ask: AnisotropyOptions;
    readonly answer: AnisotropyView & { readonly serial: number };
  };
  /** The shown frame minus its radial average, in sigmas. */
  readonly residual: {
    readonly ask: { readonly part: ResidualPart };
    readonly answer: { readonly serial: number; readonly residual: Float32Array };
  };
  /** The annuli of every sample of a plan. */
  readonly series: {
    readonly ask: { readonly plan: Plan };
    readonly answer: { readonly samples: readonly SeriesSampleView[]; readonly faults: readonly Fault[] };
  };
  /** Whether the stop covers the beam, for the sample that is reduced. */
  readonly "assess-stop": {
    readonly ask: { readonly plan: Plan; readonly sampleIndex: number; readonly limits: StopLimits };
    readonly answer: BeamStopReport;
  };
  /** The direct-beam runs of a plan, each with the spot that it shows; a run that can't be read has its fault. */
  readonly "direct-beams": {
    readonly ask: { readonly plan: Plan };
    readonly answer: { readonly beams: readonly DirectBeamView[] };
  };
  /** Whether a file is one of finished curves, by its content. */
  readonly "holds-curves": {
    readonly ask: { readonly name: string; readonly blob: Blob };
    readonly answer: { readonly holdsCurves: boolean };
  };
  /** Every curve of a file that is to be looked at beside our own. */
  readonly "load-curves": {
    readonly ask: { readonly name: string; readonly blob: Blob };
    readonly answer: readonly FileCurve[];
  };
  readonly "work-on-curves": {
    readonly ask: ToolAsk;
    /** Of the tool that was asked for. */
    readonly answer: { readonly made: ToolAnswer };
  };
  /** One figure of the shown reduction, as the report has it. */
  readonly "draw-figure": {
    /** `scale`: pixels a point of the picture; undefined: no picture is wanted. */
    readonly ask: { readonly name: string; readonly scale: number | undefined };
    readonly answer: { readonly svg: string; readonly png: Uint8Array<ArrayBuffer> | undefined };
  };
  readonly export: {
    readonly ask: { readonly plan: Plan; readonly sampleIndex: number; readonly outputs: readonly OutputKind[] };
    readonly answer: { readonly sampleFile: string; readonly files: readonly ExportFile[] };
  };
}

export type QuestionKind = keyof Questions;
export type Ask<K extends QuestionKind> = Questions[K]["ask"];
export type Answer<K extends QuestionKind> = Questions[K]["answer"];

export type ToWorker =
  | { readonly [K in QuestionKind]: { readonly id: number; readonly kind: K; readonly ask: Ask<K> } }[QuestionKind]
  | { readonly id: number; readonly kind: "cancel" }
  /** A file that ended an earlier worker: it is refused with this reason. */
  | { readonly kind: "avoid"; readonly key: string; readonly reason: string };

export interface Progress {
  /** What is being done now, in words. */
  readonly label: string;
  /** 0..1; undefined where it can't be known. */
  readonly fraction?: number;
}

export type FromWorker =
  | { readonly id: number; readonly kind: "progress"; readonly progress: Progress }
  | { readonly id: number; readonly kind: "answer"; readonly result: Result<Answer<QuestionKind>> }
  /** HDF5 is at work on a file, which damage can keep it from ending; undefined: no longer. */
  | { readonly kind: "reading"; readonly file: FileBeingRead | undefined }
  /** A mistake of ours: shown as such. */
  | { readonly id: number; readonly kind: "bug"; readonly message: string };
