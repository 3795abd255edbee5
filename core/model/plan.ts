import type { RowOrder } from "./frame.ts";

/** A run of the plan: a path, or a path with what to take from the file. */
export type RunReference =
  | string
  | {
      readonly file: string;
      readonly entry?: string | undefined;
      readonly dataset?: string | undefined;
      /** Of a stack, from 0. Left out: the sum of frames that differ in nothing but time. */
      readonly frame?: number | "sum" | undefined;
      readonly rowOrder?: RowOrder | undefined;
      readonly transpose?: boolean | undefined;
    };

export const RUN_ROLES = [
  "sample",
  "sampleTransmission",
  "emptyCell",
  "emptyCellTransmission",
  "emptyBeam",
  "blockedBeam",
  "flood",
] as const;
export type RunRole = (typeof RUN_ROLES)[number];

/** Metadata by the plan's keys and units (METADATA_FIELDS). */
export type PlanMetadata = Readonly<Partial<Record<string, number | readonly [number, number]>>>;

export type MaskShape =
  | { readonly kind: "circle"; readonly x: number; readonly y: number; readonly r: number }
  | { readonly kind: "outside-circle"; readonly x: number; readonly y: number; readonly r: number }
  | {
      readonly kind: "rectangle";
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
    }
  | { readonly kind: "polygon"; readonly points: readonly (readonly [number, number])[] };

export interface PlanMask {
  readonly auto?: readonly ("beam-stop" | "hot" | "dead")[] | undefined;
  readonly edge_px?: number | undefined;
  readonly file?: string | undefined;
  readonly shapes?: readonly MaskShape[] | undefined;
}

export type PlanBeamCentre =
  | { readonly method: "given" | "direct-beam" | "symmetry" }
  | { readonly method: "rings"; readonly dSpacing_A: number };

export interface PlanCorrections {
  readonly deadTime?:
    | {
        readonly model: "non-paralysable" | "paralysable";
        readonly tau_s?: number | undefined;
        readonly per?: "pixel" | "bank" | undefined;
      }
    | "none"
    | undefined;
  readonly blockedBeam?: { readonly scaleBy: "time" | "monitor" } | "none" | undefined;
  readonly normaliseBy?: "monitor" | "time" | "none" | undefined;
  readonly transmission?:
    | {
        readonly sample?: number | "measure" | "none" | undefined;
        readonly emptyCell?: number | "measure" | "none" | undefined;
        readonly obliquePath?: boolean | undefined;
        readonly radius_px?: number | undefined;
      }
    | "measure"
    | "none"
    | undefined;
  readonly solidAngle?: "exact" | "cosine-cubed" | "none" | undefined;
  /** `smooth_px`: standard deviation of a Gaussian over the good pixels; 0: none. */
  readonly flood?: { readonly smooth_px?: number | undefined } | "none" | undefined;
  readonly detectorAbsorption?:
    | { readonly opticalDepth: number; readonly shape?: "flat" | "tubes" | undefined }
    | "none"
    | undefined;
  readonly absolute?:
    | { readonly method: "direct-beam"; readonly directBeamRadius_px?: number | undefined }
    | { readonly method: "factor"; readonly value: number; readonly sigma?: number | undefined }
    | "none"
    | undefined;
  readonly gravity?: boolean | "none" | undefined;
  readonly background_1cm?: number | undefined;
}

/** How the Q resolution is told; not a correction, since no intensity changes. */
export interface PlanResolution {
  readonly method?: "second-moments" | "full-widths" | undefined;
  readonly wavelengthLaw?: "triangular" | "gaussian" | "rectangular" | undefined;
  /** In place of wavelengthSpread. `_sigma`: one standard deviation; `channelWidth`: full width over the wavelength. */
  readonly timeOfFlight?:
    | {
        readonly path_m: number;
        readonly path_mm_sigma?: number | undefined;
        readonly emission_us_sigma: number;
        readonly channelWidth?: number | undefined;
      }
    | undefined;
}

export type PlanBins =
  | {
      readonly spacing: "linear" | "log";
      readonly count?: number | undefined;
      readonly qMin?: number | undefined;
      readonly qMax?: number | undefined;
    }
  | { readonly spacing: "edges"; readonly edges: readonly number[] };

export type PlanAverage =
  | { readonly id: string; readonly kind: "radial"; readonly bins?: PlanBins | undefined }
  | {
      readonly id: string;
      readonly kind: "sector";
      readonly centre_deg: number;
      readonly halfWidth_deg: number;
      readonly mirrored?: boolean | undefined;
      readonly bins?: PlanBins | undefined;
    }
  | {
      readonly id: string;
      readonly kind: "annulus";
      readonly qMin: number;
      readonly qMax: number;
      readonly count?: number | undefined;
    }
  | {
      readonly id: string;
      readonly kind: "box";
      readonly axis: "x" | "y";
      readonly halfWidth_1A: number;
      readonly bins?: PlanBins | undefined;
    };

export const OUTPUT_KINDS = ["csv", "columns", "cansas-xml", "nxcansas", "figures", "maps", "report"] as const;
export type OutputKind = (typeof OUTPUT_KINDS)[number];

/** The reduction plan, version 1: how runs become curves. Keys are a contract with its users. */
export interface Plan {
  readonly planVersion: 1;
  readonly title?: string | undefined;
  readonly runs: { readonly sample: RunReference | readonly RunReference[] } & {
    readonly [role in Exclude<RunRole, "sample">]?: RunReference | undefined;
  };
  readonly metadata?: { readonly [role in RunRole | "all"]?: PlanMetadata | undefined } | undefined;
  readonly beamCentre?: PlanBeamCentre | undefined;
  readonly mask?: PlanMask | undefined;
  readonly corrections?: PlanCorrections | undefined;
  readonly resolution?: PlanResolution | undefined;
  readonly averages?: readonly PlanAverage[] | undefined;
  readonly outputs?: readonly OutputKind[] | undefined;
}
