import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";

/** A report on a round stop of 10 px that lies (3, -4) px off a beam of 2 px; 5 mm a pixel. */
export function stopReport(change: Partial<BeamStopReport> = {}): BeamStopReport {
  return {
    verdict: "covered",
    reason: "Beam stop covers the beam",
    stop: {
      ...{ shape: "circle", radius_px: 10, radius_px_sigma: 0.1, x_px: 33, y_px: 26, x_px_sigma: 0.1, y_px_sigma: 0.1 },
      ...{ penumbra_px: 0.5, penumbra_px_sigma: 0.1, level_counts: 1 },
    },
    beam: {
      ...{ x_px: 30, y_px: 30, x_px_sigma: 0.1, y_px_sigma: 0.1, radius_px: 2 },
      ...{ method: "direct-beam", radiusFrom: "direct-beam" },
    },
    ...{ offset_px: [3, -4], offset_px_sigma: [0.1, 0.1], offset_mm: 25, offset_mm_sigma: 0.5 },
    ...{ margin_px: 2, margin_mm: 10, margin_mm_sigma: 1, marginDirection_deg: 126.9 },
    ...{ qMin_1A: 0.01, qMinCentred_1A: 0.008, move_mm: [-15, 20] },
    leak: {
      ...{ excessCounts: 10, excessCounts_sigma: 5, significance: 1.5 },
      segments: [
        { azimuth_deg: 270, pixels: 8, counts: 80, expected: 100, expected_sigma: 0, significance: -2 },
        { azimuth_deg: 90, pixels: 8, counts: 150, expected: 100, expected_sigma: 0, significance: 4.6 },
        { azimuth_deg: 180, pixels: 0, counts: 0, expected: 0, expected_sigma: 0, significance: 0 },
      ],
    },
    leakedFraction: 0,
    hottest: { x_px: 5, y_px: 6, counts: 100, rate_1s: 10 },
    total: { counts: 20_000, rate_1s: 2000 },
    warnings: [],
    ...change,
  };
}
