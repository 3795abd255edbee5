import { describe, expect, it } from "vitest";
import { planKeysInWords } from "../../../../renderer/state/plan-words.ts";
import { stepFacts } from "../../../../renderer/state/step-facts.ts";

describe("keys of the plan", () => {
  it.each([
    [
      "measured from runs.sampleTransmission and runs.emptyBeam",
      "measured from “sample, direct beam” and “empty beam”",
    ],
    ["set metadata.sample.monitorCounts", "set “monitor” of “sample” in the plan"],
    ["set metadata.all.distance_m", "set “sample to detector” of all runs in the plan"],
    ["corrections.transmission.obliquePath", "transmission in the plan"],
    ["runs.sample[1] has 3 px", "“sample” has 3 px"],
    ["/entry/control/count_time", "/entry/control/count_time"],
    ["runs.sampel is unknown", "runs.sampel is unknown"],
  ])("%s are said as %s", (text, words) => {
    expect(planKeysInWords(text)).toBe(words);
  });
});

describe("the details of a step", () => {
  it("are lines in words, with a sigma's digits, a unit, and one line a direct beam", () => {
    const facts = stepFacts({
      ...{ step: "transmission", status: "applied", warnings: [] },
      parameters: {
        ...{ transmission: 0.7245365, transmission_sigma: 0.000737, radius_px: 8, centre_px: [94.600183, 97.2014] },
        ...{ "sampleTransmission.netCounts": 1661807.4, "sampleTransmission.pixels": 202 },
        ...{ "sampleTransmission.normalisation": 5, "emptyCell.countTime_s": 1800 },
      },
      sources: { transmission: "measured from runs.emptyBeam" },
    });
    expect(facts).toEqual([
      {
        ...{ key: "transmission", label: "Transmission", text: "0.72454 ± 0.00074" },
        source: "measured from “empty beam”",
      },
      { key: "radius_px", label: "Radius of the sum", text: "8", unit: "px" },
      { key: "centre_px", label: "Middle of the sum", text: "94.6, 97.2", unit: "px" },
      {
        key: "sampleTransmission.netCounts",
        label: "Sample, direct beam, net counts",
        text: "1.66 × 10⁶ in 202 pixels",
      },
      { key: "emptyCell.countTime_s", label: "Empty cell, counting time", text: "1800", unit: "s" },
    ]);
  });
});
