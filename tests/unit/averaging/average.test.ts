import { describe, expect, it } from "vitest";
import { averageEstimate } from "../../../core/averaging/average.ts";
import { averageFrame } from "../../../core/averaging/average-frame.ts";
import {
  annulusMembership,
  type BinMap,
  boxMembership,
  radialMembership,
  sectorMembership,
} from "../../../core/averaging/membership.ts";
import { azimuthMap, cosTwoThetaMap, qMap, qxMap, qyMap } from "../../../core/geometry/maps.ts";
import { rawEstimate } from "../../support/estimate-builder.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "../geometry/check-values.ts";
import { someGeometry, someTerm } from "./frames.ts";

const DEGREE = Math.PI / 180;

interface Sums {
  readonly n: number;
  readonly sumC: number;
  readonly sumW: number;
  readonly I: number;
  readonly sigma: number;
  readonly Qmean: number;
  readonly chi2red: number | null;
}

/** The worked example of the check values: C = column + 5 row on 5 x 5 pixels, (4, 4) masked, W = cos^3(2 theta). */
function fiveByFive() {
  const geometry = someGeometry({
    ...{ width: 5, height: 5, pixelSizeX: 0.01, pixelSizeY: 0.01, distance: 1 },
    beamCentre: { x: 2, y: 2 },
  });
  const counts = Float64Array.from({ length: 25 }, (_, p) => (p % 5) + 5 * Math.floor(p / 5));
  const mask = new Uint16Array(25);
  mask[24] = 1;
  const norm = cosTwoThetaMap(geometry).map((c) => c * c * c);
  return {
    geometry,
    maps: { q: qMap(geometry), phi: azimuthMap(geometry) },
    estimate: rawEstimate(5, 5, counts, norm, mask),
  };
}

const EDGES = Float64Array.of(0, 0.005, 0.0125, 0.02, 0.03, 0.035);

/** All pixels in one bin. */
function oneBin(pixels: number): BinMap {
  return { index: new Int32Array(pixels), count: 1, edges: Float64Array.of(0, 1) };
}

describe.skipIf(CHECK_VALUES_ABSENT)("the worked 5 x 5 example", () => {
  it("gives the radial bins, and leaves the empty one out", () => {
    const { geometry, maps, estimate } = fiveByFive();
    const { expected } = checkValues<unknown, { bins: Sums[] }>("avg.radial5x5");
    const columns = averageEstimate(estimate, radialMembership(geometry, EDGES, maps.q), { q: maps.q });
    expect(Array.from(columns.bin)).toEqual([0, 1, 2, 3]);
    for (const [i, bin] of expected.bins.slice(0, 4).entries()) {
      expect(columns.pixels[i]).toBe(bin.n);
      expect(columns.counts[i]).toBe(bin.sumC);
      expect(relative(columns.norm[i]!, bin.sumW)).toBeLessThan(1e-9);
      expect(relative(columns.intensity[i]!, bin.I)).toBeLessThan(1e-9);
      expect(relative(columns.sigma[i]!, bin.sigma)).toBeLessThan(1e-9);
      expect(columns.q[i]).toBeCloseTo(bin.Qmean, 11);
      if (bin.chi2red === null) expect(columns.chi2[i]).toBeNaN();
      else expect(relative(columns.chi2[i]!, bin.chi2red)).toBeLessThan(1e-9);
    }
  });

  it.each([
    ["avg.sector5x5.symFalse", false],
    ["avg.sector5x5.symTrue", true],
  ] as const)("gives %s", (id, mirrored) => {
    const { geometry, maps, estimate } = fiveByFive();
    const { expected } = checkValues<unknown, Sums>(id);
    const radial = radialMembership(geometry, Float64Array.of(0.005, 0.035), maps.q);
    const sector = { centre: 0, halfWidth: 30 * DEGREE, mirrored };
    const columns = averageEstimate(estimate, sectorMembership(radial, maps.phi, sector));
    expect(columns.pixels[0]).toBe(expected.n);
    expect(columns.counts[0]).toBe(expected.sumC);
    expect(relative(columns.intensity[0]!, expected.I)).toBeLessThan(1e-9);
    expect(relative(columns.sigma[0]!, expected.sigma)).toBeLessThan(1e-9);
  });

  it("gives the annulus: pixels at exactly 45 degrees belong to the upper bin", () => {
    const { geometry, maps, estimate } = fiveByFive();
    const { expected } = checkValues<unknown, { bins: Sums[] }>("avg.annulus5x5");
    const choice = { id: "ring", kind: "annulus", qMin: 0.005, qMax: 0.025, count: 4 } as const;
    const profile = averageFrame(choice, estimate, { geometry, maps, unit: "counts" });
    if (!profile.ok || profile.value.kind !== "annulus") throw new Error("no profile");
    expect(Array.from(profile.value.phi, (phi) => Math.round(phi / DEGREE))).toEqual([0, 90, 180, 270]);
    for (const [i, bin] of expected.bins.entries()) {
      expect(profile.value.pixels[i]).toBe(bin.n);
      expect(profile.value.counts[i]).toBe(bin.sumC);
      expect(relative(profile.value.intensity[i]!, bin.I)).toBeLessThan(1e-9);
    }
    const { index } = annulusMembership(geometry, choice, maps);
    expect(index.filter((bin) => bin >= 0)).toHaveLength(20);
  });

  it("gives the box along Qx", () => {
    const { geometry, estimate } = fiveByFive();
    const { inputs, expected } = checkValues<{ Qx_edges: number[]; absQy_max: number }, { bins: Sums[] }>("avg.box5x5");
    const [along, across] = [qxMap(geometry), qyMap(geometry)];
    const binMap = boxMembership({ along, across }, inputs.absQy_max, Float64Array.from(inputs.Qx_edges));
    const columns = averageEstimate(estimate, binMap, { q: along });
    expect(Array.from(columns.pixels)).toEqual([3, 3, 3, 3, 3]);
    for (const [i, bin] of expected.bins.entries()) {
      expect(columns.counts[i]).toBe(bin.sumC);
      expect(relative(columns.intensity[i]!, bin.I)).toBeLessThan(1e-9);
    }
    expect(columns.q[2]).toBeCloseTo(0, 15);
  });

  it("adds the spread of Q in a bin to the resolution of its pixels", () => {
    const { geometry, maps, estimate } = fiveByFive();
    const { inputs, expected } = checkValues<{ sigma_Q_pixel: number }, { sigma_Q_total: number }>("res.bin");
    const variance = inputs.sigma_Q_pixel * inputs.sigma_Q_pixel;
    const resolution = { variance: () => variance, relativeWavelengthSigma: 0 };
    const binMap = radialMembership(geometry, EDGES, maps.q);
    const columns = averageEstimate(estimate, binMap, { q: maps.q, resolution });
    expect(relative(columns.qSigma![3]!, expected.sigma_Q_total)).toBeLessThan(1e-9);
    // One pixel has no spread.
    expect(columns.qSigma![0]).toBe(inputs.sigma_Q_pixel);
    expect(averageEstimate(estimate, binMap, { q: maps.q }).qSigma).toBeUndefined();
  });

  it("gives the ratio of sums, not a mean of ratios and not a mean by 1 / N", () => {
    const { inputs, expected } = checkValues<
      { C: number[]; W: number[] },
      Record<"I" | "sigma_poisson" | "sigma_scatter" | "chi2red_pearson", number>
    >("stat.ratioOfSums");
    const estimate = rawEstimate(8, 1, Float64Array.from(inputs.C), Float64Array.from(inputs.W));
    const columns = averageEstimate(estimate, oneBin(8));
    expect(relative(columns.intensity[0]!, expected.I)).toBeLessThan(1e-9);
    expect(relative(columns.sigma[0]!, expected.sigma_poisson)).toBeLessThan(1e-9);
    expect(relative(columns.scatterSigma[0]!, expected.sigma_scatter)).toBeLessThan(1e-9);
    expect(relative(columns.chi2[0]!, expected.chi2red_pearson)).toBeLessThan(1e-9);
  });
});

describe("averageEstimate", () => {
  const counts = Float64Array.of(4, 0, 6, 2);
  const cell = Float64Array.of(1, 2, 0, 3);

  it("propagates the variance of every frame with its coefficient squared", () => {
    // By hand: signal 12 - 0.5 * 6 = 9, variance 12 + 0.25 * 6 = 13.5, norm 4 * 2.
    const estimate = {
      ...rawEstimate(4, 1, counts, new Float64Array(4).fill(2)),
      terms: [someTerm("sample", counts, 1), someTerm("emptyCell", cell, -0.5)],
      background: 0.125,
    };
    const columns = averageEstimate(estimate, oneBin(4));
    expect(columns.intensity[0]).toBe(9 / 8 - 0.125);
    expect(columns.sigma[0]).toBeCloseTo(Math.sqrt(13.5) / 8, 15);
    expect(columns.counts[0]).toBe(12);
    expect(columns.zeroCounts[0]).toBe(0);
    // Residuals from 2.25 a pixel: 1.25, -3.25, 3.75, -1.75, squares 29.25; expected variance 13.5 / 4 a pixel.
    expect(columns.chi2[0]).toBeCloseTo(29.25 / (13.5 / 4) / 3, 14);
    expect(columns.scatterSigma[0]).toBeCloseTo(Math.sqrt((4 / 3) * 29.25) / 8, 15);
  });

  it("takes one count for the variance of each frame that counted nothing, and flags the bin", () => {
    const nothing = new Float64Array(4);
    const raw = averageEstimate(rawEstimate(4, 1, nothing), oneBin(4));
    expect([raw.intensity[0], raw.sigma[0], raw.zeroCounts[0]]).toEqual([0, 1 / 4, 1]);
    const both = {
      ...rawEstimate(4, 1, nothing),
      terms: [someTerm("sample", nothing, 1), someTerm("blockedBeam", nothing, -0.5)],
    };
    expect(averageEstimate(both, oneBin(4)).sigma[0]).toBeCloseTo(Math.sqrt(1 + 0.25) / 4, 15);
    // A frame that counted keeps its own variance beside one that did not.
    const mixed = { ...both, terms: [someTerm("sample", counts, 1), someTerm("blockedBeam", nothing, -0.5)] };
    const columns = averageEstimate(mixed, oneBin(4));
    expect(columns.sigma[0]).toBeCloseTo(Math.sqrt(12 + 0.25) / 4, 15);
    expect(columns.chi2[0]).toBeCloseTo(20 / ((12 + 0.25) / 4) / 3, 14);
    expect(columns.zeroCounts[0]).toBe(1);
  });

  it("adds the norm's own variance: I^2 sum(W^2 r) / sum(W)^2", () => {
    // By hand: I = 12 / 8 = 1.5; sum(W^2 r) = 4 (0.01 + 0.04 + 0 + 0.04) = 0.36.
    const estimate = {
      ...rawEstimate(4, 1, counts, new Float64Array(4).fill(2)),
      normRelativeVariance: Float64Array.of(0.01, 0.04, 0, 0.04),
    };
    expect(averageEstimate(estimate, oneBin(4)).sigma[0]).toBeCloseTo(Math.sqrt(12 + 2.25 * 0.36) / 8, 15);
  });

  it.each([Number.NaN, 1e9, Number.NEGATIVE_INFINITY])("is not moved by %f in a masked pixel", (garbage) => {
    const { geometry, maps, estimate } = fiveByFive();
    const binMap = radialMembership(geometry, EDGES, maps.q);
    const before = averageEstimate(estimate, binMap, { q: maps.q });
    const spoilt = estimate.terms[0]!.counts.slice();
    const norm = estimate.norm.slice();
    spoilt[24] = garbage;
    norm[24] = garbage;
    const after = averageEstimate({ ...estimate, norm, terms: [someTerm("sample", spoilt, 1)] }, binMap, { q: maps.q });
    expect(after).toEqual(before);
  });

  it("leaves out a bin whose pixels have no norm", () => {
    const columns = averageEstimate(rawEstimate(2, 1, Float64Array.of(1, 2), new Float64Array(2)), oneBin(2));
    expect(columns.bin).toHaveLength(0);
  });

  it("counts beyond 2^32 without losing one", () => {
    const many = Float64Array.of(2 ** 32, 2 ** 33 + 1, 7);
    expect(averageEstimate(rawEstimate(3, 1, many), oneBin(3)).counts[0]).toBe(2 ** 32 + 2 ** 33 + 8);
  });

  it("refuses arrays of another length", () => {
    expect(() => averageEstimate(rawEstimate(4, 1, counts), oneBin(3))).toThrow("4 pixels");
  });
});
