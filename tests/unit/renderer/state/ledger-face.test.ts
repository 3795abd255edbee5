import { describe, expect, it } from "vitest";
import type { LedgerEntry } from "../../../../core/model/ledger.ts";
import { faceOf } from "../../../../renderer/state/ledger-face.ts";

const entry = (step: string, change: Partial<LedgerEntry>): LedgerEntry => ({
  step,
  status: "applied",
  parameters: {},
  sources: {},
  warnings: [],
  ...change,
});

describe("the face of a step", () => {
  it("is the number that matters, with its unit", () => {
    const faces = [
      entry("beamCentre", {
        parameters: { beamCentre_px: [94.60018, 97.2014], beamCentre_px_sigma: [0.0004, 0.0004] },
      }),
      entry("deadTime", { parameters: { tau_s: 2e-6, per: "bank" } }),
      entry("normaliseBy", { parameters: { monitorCounts: 59592975 } }),
      entry("transmission", { parameters: { transmission: 0.72454, transmission_sigma: 0.00074 } }),
      entry("thickness", { parameters: { thickness_mm: 1 } }),
      entry("mask", { effect: { pixelsMasked: 892 } }),
      entry("solidAngle", { parameters: { method: "exact" }, effect: { factorMin: 1, factorMax: 2 } }),
    ].map((step) => faceOf(step).line);
    expect(faces).toEqual([
      "94.60, 97.20 px",
      "2 µs, by bank",
      "5.96 × 10⁷ monitor counts",
      "0.72454 ± 0.00074",
      "1 mm",
      "892 pixels masked",
      "exact",
    ]);
  });

  it("never shows a key of the plan", () => {
    const reasons = [
      "corrections.gravity is not given",
      "switched off by corrections.flood",
      "runs.flood is not given",
      "no monitor count is known: set metadata.sample.monitorCounts or corrections.normaliseBy",
      "corrections.background_1cm is 0",
    ];
    const lines = reasons.map((reason) => faceOf(entry("flood", { status: "not applied", reason })).line);
    expect(lines).toEqual(["not asked for", "left out", "no run given", "needs monitor counts", "not asked for"]);
  });

  it("falls back on the factor of a step that it doesn't know", () => {
    expect(faceOf(entry("polarisation", { effect: { factorMin: 0.5, factorMax: 0.5 } })).line).toBe("factor 0.5");
  });
});
