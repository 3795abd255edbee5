import { describe, expect, it } from "vitest";
import { jsonText } from "../../../core/report/json.ts";
import { reductionSummary } from "../../../core/report/summary.ts";
import { aCurve, aReduction } from "../../support/reduction-builder.ts";

const summaryOf = (reduction = aReduction()) => JSON.parse(jsonText(reductionSummary(reduction)));

describe("summary.json", () => {
  it("gives each value with its sigma, and null where it isn't known", () => {
    const summary = summaryOf();
    expect(summary.beamCentre_px).toEqual({
      value: [22.3, 18.7],
      sigma: [0.021, 0.024],
      method: "direct-beam",
      from: "direct.h5",
    });
    expect(summary.beamStop).toMatchObject({ shape: "circle", x_px: 22.1, radius_px: 3.6, radius_px_sigma: 0.04 });
    expect(summary.transmission).toEqual({
      sample: { value: 0.72, sigma: 0.004 },
      emptyCell: { value: 0.95, sigma: null },
    });
    expect(summary.intensityUnit).toBe("1/cm");
    expect(summary.warnings).toEqual(["wavelength spread is a guess"]);
    expect(summary.commonUncertainty.relative).toBeCloseTo(0.0055, 15);
    expect(summary.commonUncertainty.factors[1]).toEqual({
      name: "thickness",
      value: 0.1,
      sigma: null,
      relative: null,
      appliesTo: "the intensity",
    });
  });

  it("uses the plan's units for metadata", () => {
    const { metadata } = summaryOf();
    expect(metadata.pixelSize_mm.value).toEqual([5, 5]);
    expect(metadata.thickness_mm.value).toBe(1);
    expect(metadata.deadTime_s).toBeNull();
  });

  it("lists each average with its points and range", () => {
    const curve = aCurve();
    const { averages } = summaryOf();
    expect(averages.map((a: { id: string }) => a.id)).toEqual(["radial", "flow", "ring"]);
    expect(averages[0]).toMatchObject({ kind: "radial", points: 60, qMin_1A: curve.q[0], qMax_1A: curve.q[59] });
    expect(averages[2]).toMatchObject({ kind: "annulus", points: 72, qMin_1A: 0.02, qMax_1A: 0.03 });
    expect(averages[0].counts).toBe(curve.counts.reduce((a, b) => a + b, 0));
  });

  it("has the scatter between pixels and its ratio to counting for every point", () => {
    const curve = aCurve({ counts: new Float64Array(60) });
    const [average] = summaryOf(aReduction({ curves: [curve] })).averages;
    const { scatterSigma, scatterOverCounting, commonSigma, upperLimit95 } = average.pointUncertainties;
    expect(scatterSigma).toEqual([...curve.scatterSigma]);
    expect(scatterOverCounting[7]).toBeCloseTo(curve.scatterSigma[7]! / curve.sigma[7]!, 14);
    expect(average.scatterOverCounting.largest).toBe(Math.max(...scatterOverCounting));
    expect(commonSigma[7]).toBeCloseTo(0.0055 * curve.intensity[7]!, 12);
    // Nothing was counted and norm is 1/7: at most 3 counts with a chance of 95 %.
    expect(upperLimit95[7]).toBeCloseTo(curve.intensity[7]! + 7 * 2.99573227355, 9);
  });

  it("says null for a stop, a sigma and a resolution that nobody knows", () => {
    const { qSigma: _, ...unresolved } = aCurve();
    const { beamStop: __, ...rest } = aReduction({
      beamCentre: { x: 1, y: 2, method: "given", from: "plan" },
      transmission: {},
      curves: [unresolved],
    });
    const summary = summaryOf(rest);
    expect(summary.beamStop).toBeNull();
    expect(summary.beamCentre_px.sigma).toEqual([null, null]);
    expect(summary.transmission).toEqual({ sample: null, emptyCell: null });
    expect(summary.averages[0]).toMatchObject({ qMin_1A_sigma: null, resolution: false });
    expect(summary.notes[0]).toContain("not known for radial");
  });

  it("turns a rectangular stop into degrees", () => {
    const summary = summaryOf(
      aReduction({ beamStop: { shape: "rectangle", x: 1, y: 2, width: 3, height: 4, turn: Math.PI / 4 } }),
    );
    expect(summary.beamStop).toEqual({
      shape: "rectangle",
      x_px: 1,
      y_px: 2,
      x_px_sigma: null,
      y_px_sigma: null,
      width_px: 3,
      height_px: 4,
      turn_deg: 45,
      width_px_sigma: null,
      height_px_sigma: null,
      turn_deg_sigma: null,
    });
  });
});
