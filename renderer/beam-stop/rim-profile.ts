import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";

/** A segment of the rim, ready to be drawn. */
export interface RimBar {
  /** Middle, degrees as displayed. */
  readonly azimuth: number;
  /** Counts over what the halo lets expect. */
  readonly ratio: number;
  /** One standard deviation of the ratio: Poisson counts, and the expectation's own. */
  readonly sigma: number;
  readonly significance: number;
  readonly counts: number;
  readonly expected: number;
}

/** The rim unrolled, by azimuth. Segments in which nothing is expected have no ratio and are left out. */
export function rimBars(leak: NonNullable<BeamStopReport["leak"]>): readonly RimBar[] {
  return leak.segments
    .filter(({ expected }) => expected > 0)
    .map(({ azimuth_deg, counts, expected, expected_sigma, significance }) => ({
      azimuth: azimuth_deg,
      ratio: counts / expected,
      // The spread that counts have where the halo alone is there: it says how far from 1 chance reaches.
      sigma: Math.sqrt(expected + expected_sigma * expected_sigma) / expected,
      significance,
      counts,
      expected,
    }))
    .sort((a, b) => a.azimuth - b.azimuth);
}
