/** Where the stop stands to the beam. The words that a person sees; each comes with a reason. */
export type BeamStopVerdict = "covered" | "marginal" | "leaking" | "cannot-tell";

/** The JSON of the command `beamstop`. A quantity that can't be given is null, never 0; `_sigma`: one standard deviation. */
export interface BeamStopReport {
  readonly verdict: BeamStopVerdict;
  /** One sentence. */
  readonly reason: string;
  readonly stop:
    | ({
        readonly x_px: number;
        readonly y_px: number;
        readonly x_px_sigma: number | null;
        readonly y_px_sigma: number | null;
        readonly penumbra_px: number;
        readonly penumbra_px_sigma: number;
        readonly level_counts: number;
      } & (
        | { readonly shape: "circle"; readonly radius_px: number; readonly radius_px_sigma: number | null }
        | {
            readonly shape: "rectangle";
            readonly width_px: number;
            readonly height_px: number;
            readonly turn_deg: number;
            readonly width_px_sigma: number | null;
            readonly height_px_sigma: number | null;
            readonly turn_deg_sigma: number | null;
          }
      ))
    | null;
  readonly beam: {
    readonly x_px: number;
    readonly y_px: number;
    readonly x_px_sigma: number | null;
    readonly y_px_sigma: number | null;
    readonly radius_px: number | null;
    readonly method: "direct-beam" | "symmetry" | "given" | "rings";
    /** Where the radius came from. */
    readonly radiusFrom: "direct-beam" | "collimation" | null;
  } | null;
  /** Stop minus beam, array coordinates. */
  readonly offset_px: readonly [number, number] | null;
  readonly offset_px_sigma: readonly [number, number] | null;
  /** Its length. */
  readonly offset_mm: number | null;
  readonly offset_mm_sigma: number | null;
  /** Smallest distance from the beam's rim to the shadow's; negative: the beam reaches beyond it. */
  readonly margin_px: number | null;
  readonly margin_mm: number | null;
  readonly margin_mm_sigma: number | null;
  /** Azimuth, as displayed, in which the margin is smallest. */
  readonly marginDirection_deg: number | null;
  /** Part of an even round beam that passes a round stop, by geometry; null for other stops. */
  readonly leakedFraction: number | null;
  /** Lowest Q whose whole ring is free of the shadow: now, and with the stop centred. */
  readonly qMin_1A: number | null;
  readonly qMinCentred_1A: number | null;
  /** What to add to the stop's position to centre it, at the detector: to the right and up as displayed. */
  readonly move_mm: readonly [number, number] | null;
  readonly leak: {
    readonly excessCounts: number;
    readonly excessCounts_sigma: number;
    /** Sigma of the strongest segment, corrected for the number of segments. */
    readonly significance: number;
    /** Around the rim, by azimuth as displayed. */
    readonly segments: readonly {
      readonly azimuth_deg: number;
      readonly pixels: number;
      readonly counts: number;
      readonly expected: number;
      readonly expected_sigma: number;
      readonly significance: number;
    }[];
  } | null;
  readonly hottest: {
    readonly x_px: number;
    readonly y_px: number;
    readonly counts: number;
    readonly rate_1s: number | null;
  } | null;
  readonly total: { readonly counts: number; readonly rate_1s: number | null };
  readonly warnings: readonly string[];
}
