import type { Geometry } from "../model/geometry.ts";
import type { Reduction } from "../plan/reduction.ts";

/** What the files of a curve tell about where it came from: a reduction, or curves that were put together. */
export interface CurveOrigin
  extends Pick<
    Reduction,
    "title" | "sampleFile" | "metadata" | "transmission" | "collimation" | "ledger" | "warnings"
  > {
  /** Only what is known; nothing where a curve comes of several cameras. */
  readonly geometry: Partial<Geometry>;
}
