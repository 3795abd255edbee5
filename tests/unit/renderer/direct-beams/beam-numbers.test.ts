import { describe, expect, it } from "vitest";
import type { LedgerEntry } from "../../../../core/model/ledger.ts";
import { beamNumbers } from "../../../../renderer/direct-beams/beam-numbers.ts";

function entry(step: string, change: Partial<LedgerEntry>): LedgerEntry {
  return { step, status: "applied", parameters: {}, sources: {}, warnings: [], ...change };
}

const OPEN = {
  "emptyBeam.netCounts": 2000,
  "emptyBeam.normalisation": 10,
  "emptyBeam.attenuation": 0.5,
  "emptyBeam.pixels": 9,
};

describe("the direct beams of a ledger", () => {
  it("are those of sample, cell and scale, each with what was summed", () => {
    const transmission = entry("transmission", {
      parameters: {
        ...{ transmission: 0.7, transmission_sigma: 0.01, normalisedBy: "time", radius_px: 8, centre_px: [3, 4] },
        ...{ "sampleTransmission.netCounts": 1400, "sampleTransmission.normalisation": 10 },
        ...{ "sampleTransmission.attenuation": 0.5, "sampleTransmission.pixels": 9, ...OPEN },
        ...{ "emptyCell.transmission": 0.9, "emptyCell.transmission_sigma": 0.02 },
        ...{ "emptyCell.emptyCellTransmission.netCounts": 1800, "emptyCell.emptyCellTransmission.normalisation": 10 },
        ...{ "emptyCell.emptyCellTransmission.attenuation": 0.5, "emptyCell.emptyCellTransmission.pixels": 9 },
      },
      sources: { transmission: "measured from runs.sampleTransmission", "emptyCell.transmission": "measured" },
      warnings: ["doubt"],
    });
    const absolute = entry("absolute", {
      parameters: { directBeam: 400, directBeam_sigma: 3, radius_px: 6, centre_px: [3, 4], ...OPEN },
      warnings: ["doubt"],
    });
    expect(beamNumbers([transmission, absolute])).toEqual({
      circle: { x: 3, y: 4, radius: 8 },
      normalisedBy: "time",
      beams: {
        emptyBeam: { net: 2000, pixels: 9, normalisation: 10, attenuation: 0.5 },
        sampleTransmission: { net: 1400, pixels: 9, normalisation: 10, attenuation: 0.5 },
        emptyCellTransmission: { net: 1800, pixels: 9, normalisation: 10, attenuation: 0.5 },
      },
      sample: { value: 0.7, sigma: 0.01, from: "measured from runs.sampleTransmission", isMeasured: true },
      emptyCell: { value: 0.9, sigma: 0.02, from: "measured", isMeasured: true },
      scale: { value: 400, sigma: 3, radius: 6 },
      warnings: ["doubt"],
    });
  });

  it("hold a given transmission as given, and the circle of the scale where nothing else is summed", () => {
    const transmission = entry("transmission", {
      parameters: { transmission: 0.7, obliquePath: false },
      sources: { transmission: "corrections.transmission.sample" },
    });
    const absolute = entry("absolute", {
      parameters: { directBeam: 400, radius_px: 6, centre_px: [3, 4], ...OPEN },
    });
    const numbers = beamNumbers([transmission, absolute]);
    expect(numbers.sample).toMatchObject({ value: 0.7, isMeasured: false });
    expect(numbers.circle).toEqual({ x: 3, y: 4, radius: 6 });
    expect(numbers.scale).toEqual({ value: 400, radius: 6 });
  });

  it("hold nothing where nothing was applied", () => {
    expect(beamNumbers([entry("transmission", { status: "not applied" })])).toEqual({ beams: {}, warnings: [] });
  });
});
