import { describe, expect, it } from "vitest";
import { averageCsv } from "../../../core/report/csv.ts";
import { aCurve, aProfile } from "../../support/reduction-builder.ts";

function parse(csv: string): { readonly names: string[]; readonly rows: string[][] } {
  expect(csv.endsWith("\n")).toBe(true);
  const [head, ...lines] = csv.slice(0, -1).split("\n");
  return { names: head!.split(","), rows: lines.map((line) => line.split(",")) };
}

describe("averages as CSV", () => {
  it("give a curve back bit for bit", () => {
    const curve = aCurve();
    const { names, rows } = parse(averageCsv(curve));
    expect(names).toEqual(["Q", "I", "dI", "dQ", "pixels", "counts"]);
    const column = (index: number) => Float64Array.from(rows, (row) => Number(row[index]));
    expect(column(0)).toEqual(curve.q);
    expect(column(1)).toEqual(curve.intensity);
    expect(column(2)).toEqual(curve.sigma);
    expect(column(3)).toEqual(curve.qSigma);
    expect(column(4)).toEqual(curve.pixels);
    expect(column(5)).toEqual(curve.counts);
  });

  it("give an annulus with phi in degrees and no dQ", () => {
    const profile = aProfile();
    const { names, rows } = parse(averageCsv(profile));
    expect(names).toEqual(["phi", "I", "dI", "pixels", "counts"]);
    // 72 bins of 5 degrees, middles at 2.5, 7.5, ...
    rows.forEach((row, b) => {
      expect(Number(row[0])).toBeCloseTo(2.5 + 5 * b, 11);
    });
    expect(Float64Array.from(rows, (row) => Number(row[1]))).toEqual(profile.intensity);
  });

  it("leave the cell empty, not 0, where the resolution isn't known", () => {
    const { qSigma: _, ...unresolved } = aCurve();
    const { names, rows } = parse(averageCsv(unresolved));
    expect(names[3]).toBe("dQ");
    for (const row of rows) expect(row).toHaveLength(6);
    for (const row of rows) expect(row[3]).toBe("");
  });

  it("have the header alone where no bin holds a pixel", () => {
    const none = new Float64Array(0);
    expect(
      averageCsv(aCurve({ q: none, intensity: none, sigma: none, qSigma: none, pixels: none, counts: none })),
    ).toBe("Q,I,dI,dQ,pixels,counts\n");
  });
});
