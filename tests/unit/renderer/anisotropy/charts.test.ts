import { describe, expect, it } from "vitest";
import { measurePoints } from "../../../../core/anisotropy/measure-points.ts";
import { abscissaDomain, chartDomain } from "../../../../renderer/anisotropy/chart-domain.ts";
import { chosenAxis, seriesOptions } from "../../../../renderer/anisotropy/chosen-series.ts";
import { fitLines, sectorCurves } from "../../../../renderer/anisotropy/view-curves.ts";

const DEGREE = Math.PI / 180;
const measures = (axis: number, pIsotropic = 1e-9) => ({
  alignment: 0.2,
  alignmentSigma: 0.01,
  axis: axis * DEGREE,
  axisSigma: DEGREE,
  pIsotropic,
});

describe("points of a chart of measures", () => {
  it("keep axes that straddle 180 degrees together", () => {
    const { axis } = measurePoints([
      { x: 1, measures: { ...measures(178), axisSigma: 0.1 * DEGREE } },
      { x: 2, measures: measures(3) },
    ]);
    expect(axis.map(({ y }) => Math.round(y))).toEqual([178, 183]);
  });

  it("have no axis where nothing is anisotropic, and no alignment where nothing was measured", () => {
    const points = measurePoints([
      { x: 1, measures: measures(20, 0.4) },
      { x: 2, measures: undefined },
    ]);
    expect(points.alignment).toHaveLength(1);
    expect(points.axis).toHaveLength(0);
  });
});

describe("the ends of a chart", () => {
  it("hold all points and their bars, but for bars of no weight", () => {
    const { low, high } = chartDomain([
      { x: 1, y: 1, sigma: 0.1 },
      { x: 2, y: 2, sigma: 0.1 },
      { x: 3, y: 1.5, sigma: 1000 },
    ]);
    expect(low).toBeLessThan(0.9);
    expect(low).toBeGreaterThan(0.5);
    expect(high).toBeGreaterThan(2.1);
    expect(high).toBeLessThan(2.5);
  });

  it("have a width for a single point, and leave 0 off a logarithm", () => {
    const one = abscissaDomain([5], "linear");
    expect(one.low).toBeLessThan(5);
    expect(one.high).toBeGreaterThan(5);
    expect(abscissaDomain([0, 0.01, 0.1], "log").low).toBeGreaterThan(0);
  });
});

describe("the axis of a series", () => {
  const samples = [
    { file: "rest-000.h5", metadata: {}, annuli: [] },
    { file: "shear-030.h5", metadata: {}, annuli: [] },
  ];
  const [rest, shear] = ["rest-000.h5", "shear-030.h5"];

  it("is what was typed, with its label and unit, or what the runs say", () => {
    const typed = { [rest]: 0, [shear]: 30 };
    expect(chosenAxis(samples, { from: "typed", typed, label: "Shear rate (1/s)" })).toEqual({
      axis: { label: "Shear rate", unit: "1/s", values: [0, 30] },
    });
    expect(chosenAxis(samples, { from: "file-name", typed: {}, label: "" })).toMatchObject({
      axis: { values: [0, 30] },
    });
    expect(chosenAxis(samples, { from: "file-name", typed: { [rest]: 5 }, label: "" })).toMatchObject({
      axis: { label: "Number in the file name", values: [5, 30] },
    });
    expect(chosenAxis(samples, { from: "order", typed, label: "T (K)" })).toMatchObject({ axis: { values: [1, 2] } });
  });

  it("can be a number of the runs, which are offered where a run has them", () => {
    const [first, second] = samples;
    const timed = [{ ...first!, metadata: { countTime: { value: 60, from: "file" } } }, second!];
    expect(seriesOptions(samples).map(({ value }) => value)).not.toContain("countTime_s");
    expect(seriesOptions(timed).map(({ value }) => value)).toContain("countTime_s");
    expect(chosenAxis(timed, { from: "countTime_s", typed: { [shear]: 90 }, label: "" })).toEqual({
      axis: { label: "Counting time", unit: "s", values: [60, 90] },
    });
  });

  it("is a sentence where nothing gives a value", () => {
    for (const from of ["typed", "title", "countTime_s", "a key of an older session"])
      expect(chosenAxis(samples, { from, typed: {}, label: "" })).toHaveProperty("problem");
  });
});

describe("curves of the anisotropy question", () => {
  it("are none before the answer is there", () => {
    expect(sectorCurves(undefined)).toEqual([]);
    expect(fitLines(undefined, [])).toEqual([]);
  });
});
