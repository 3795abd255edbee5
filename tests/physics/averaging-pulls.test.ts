import { describe, expect, it } from "vitest";
import { averageEstimate } from "../../core/averaging/average.ts";
import { qMaps } from "../../core/averaging/average-frame.ts";
import { type BinMap, radialMembership } from "../../core/averaging/membership.ts";
import { solidAngleMap } from "../../core/geometry/solid-angle.ts";
import type { Estimate, Term } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { normalSource, poissonSource } from "../support/random.ts";

const FRAMES = 500;
const N = 80;
const GEOMETRY: Geometry = {
  ...{ width: N, height: N, pixelSizeX: 0.008, pixelSizeY: 0.008, distance: 3, wavelength: 6 },
  beamCentre: { x: 39.2, y: 40.7 },
  rowOrder: "bottom-up",
  transpose: false,
  tilt: [0, 0],
};
const MAPS = qMaps(GEOMETRY);
// Four bins of some 1000 pixels and more: at 0.5 counts a pixel the skewness of the Poisson law, about 1 / (2 sqrt(counts)),
// shifts the mean pull by 0.02.
const EDGES = Float64Array.of(0.004, 0.05, 0.072, 0.09, 0.104);
const BINS: BinMap = radialMembership(GEOMETRY, EDGES, MAPS.q);
const OMEGA = solidAngleMap(GEOMETRY, "exact");
const MEAN_OMEGA = OMEGA.reduce((sum, omega) => sum + omega, 0) / OMEGA.length;

/** Mean and standard deviation of (estimate - truth) / sigma in each bin, over many drawn frames. */
function pulls(truth: number, draw: () => Estimate): { readonly means: number[]; readonly widths: number[] } {
  const sums = new Float64Array(BINS.count);
  const squares = new Float64Array(BINS.count);
  for (let frame = 0; frame < FRAMES; frame++) {
    const { intensity, sigma, bin } = averageEstimate(draw(), BINS);
    expect(bin).toHaveLength(BINS.count);
    for (let b = 0; b < BINS.count; b++) {
      const pull = (intensity[b]! - truth) / sigma[b]!;
      sums[b]! += pull;
      squares[b]! += pull * pull;
    }
  }
  const means = Array.from(sums, (sum) => sum / FRAMES);
  const widths = Array.from(squares, (square, b) => Math.sqrt(square / FRAMES - means[b]! * means[b]!));
  return { means, widths };
}

// For another seed the mean of 500 pulls exceeds 0.1 with probability 0.025 (sigma 0.045) and their width leaves 0.9..1.1
// with 0.002 (sigma 0.032): some one in ten for the four bins of a test. The seeds are fixed, so that passing is certain.
function expectUnitPulls({ means, widths }: ReturnType<typeof pulls>): void {
  for (const mean of means) expect(Math.abs(mean)).toBeLessThan(0.1);
  for (const width of widths) expect(Math.abs(width - 1)).toBeLessThan(0.1);
}

function counted(mean: (p: number) => number, poisson: (mean: number) => number): Float64Array {
  return Float64Array.from(OMEGA, (_, p) => poisson(mean(p)));
}

function term(role: string, counts: Float64Array, coefficient: Float64Array): Term {
  return { role, counts, value: counts, variance: counts, coefficient };
}

describe("pulls over 500 frames", () => {
  it.each([
    { level: 0.5, seed: 101 },
    { level: 5, seed: 103 },
  ])("are 0 +- 1 at $level counts a pixel", ({ level, seed }) => {
    const poisson = poissonSource(seed);
    const norm = OMEGA.map((omega) => omega / MEAN_OMEGA);
    expectUnitPulls(
      pulls(level, () =>
        rawEstimate(
          N,
          N,
          counted((p) => level * norm[p]!, poisson),
          norm,
        ),
      ),
    );
  });

  it("are 0 +- 1 after a cell and a blocked beam were subtracted, the blocked beam shared by both", () => {
    // I = [(S - B) / Ts - (E - B) / Te] / norm: the blocked beam's coefficients are combined before they are squared.
    const poisson = poissonSource(111);
    const [truth, cell, dark, tSample, tCell] = [2, 1.5, 0.4, 0.6, 0.9];
    const norm = OMEGA.map((omega) => (omega / MEAN_OMEGA) * tSample);
    const coefficient = (value: number): Float64Array => new Float64Array(N * N).fill(value);
    expectUnitPulls(
      pulls(truth, () => {
        const share = (p: number): number => norm[p]! / tSample;
        const sample = counted((p) => tSample * share(p) * (truth + cell) + dark, poisson);
        const emptyCell = counted((p) => tCell * share(p) * cell + dark, poisson);
        const blocked = counted(() => dark, poisson);
        return {
          ...rawEstimate(N, N, sample, norm),
          terms: [
            term("sample", sample, coefficient(1)),
            term("emptyCell", emptyCell, coefficient(-tSample / tCell)),
            term("blockedBeam", blocked, coefficient(-1 + tSample / tCell)),
          ],
        };
      }),
    );
  });

  it("are 0 +- 1 where the norm of each pixel has an uncertainty of its own", () => {
    const poisson = poissonSource(121);
    const normal = normalSource(122);
    // 30 % a pixel: as large as the counting error at 10 counts, so that leaving it out would show (width 1.4).
    const relative = 0.3;
    expectUnitPulls(
      pulls(10, () => ({
        ...rawEstimate(
          N,
          N,
          counted(() => 10, poisson),
          Float64Array.from(OMEGA, () => normal(1, relative)),
        ),
        normRelativeVariance: new Float64Array(N * N).fill(relative * relative),
      })),
    );
  });
});

describe("few counts", () => {
  it.each([0.5, 2, 5])("do not bias the mean over 10 000 bins at %f counts a pixel", (level) => {
    // Each bin has 4 pixels; sigma of the mean over 10 000 of them is sqrt(level / 40 000); 4 sigma: 6e-5 for another seed.
    // Weights by 1/N would be off by 13 % and more (Mighell 1999, Astrophys. J. 518, 380).
    const poisson = poissonSource(131);
    const counts = Float64Array.from({ length: 40_000 }, () => poisson(level));
    const index = Int32Array.from(counts, (_, p) => p >> 2);
    const binMap = { index, count: 10_000, edges: new Float64Array(10_001) };
    const { intensity } = averageEstimate(rawEstimate(200, 200, counts), binMap);
    const mean = intensity.reduce((sum, value) => sum + value, 0) / intensity.length;
    expect(Math.abs(mean - level)).toBeLessThan(4 * Math.sqrt(level / 40_000));
  });

  it("leave no sigma at 0, and say where nothing was counted", () => {
    const poisson = poissonSource(141);
    const counts = Float64Array.from(OMEGA, () => poisson(0.05));
    const edges = Float64Array.from({ length: 151 }, (_, k) => 0.004 + k * 0.0008);
    const columns = averageEstimate(rawEstimate(N, N, counts), radialMembership(GEOMETRY, edges, MAPS.q));
    expect(columns.zeroCounts.some((flag) => flag === 1)).toBe(true);
    for (const [i, sigma] of columns.sigma.entries()) {
      expect(sigma).toBeGreaterThan(0);
      expect(columns.zeroCounts[i]).toBe(columns.counts[i] === 0 ? 1 : 0);
    }
  });

  it("give a reduced chi-square of 1 between pixels, and a scatter sigma like the counting one", () => {
    const poisson = poissonSource(151);
    const norm = OMEGA.map((omega) => omega / MEAN_OMEGA);
    const columns = averageEstimate(
      rawEstimate(
        N,
        N,
        counted((p) => 3 * norm[p]!, poisson),
        norm,
      ),
      BINS,
    );
    for (let b = 0; b < BINS.count; b++) {
      // sqrt(2/(n - 1)) and, for a Poisson law, 1/(n mu) more in the variance; 4 sigma.
      const n = columns.pixels[b]!;
      const width = Math.sqrt(2 / (n - 1) + 1 / (3 * n));
      expect(Math.abs(columns.chi2[b]! - 1)).toBeLessThan(4 * width);
      expect(Math.abs(columns.scatterSigma[b]! / columns.sigma[b]! - 1)).toBeLessThan(4 * width);
    }
  });
});
