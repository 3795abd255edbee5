import { describe, expect, it } from "vitest";
import { isotropyTest, measureAnisotropy } from "../../core/anisotropy/measures.ts";
import { ringPixels } from "../../core/anisotropy/ring-pixels.ts";
import type { Estimate } from "../../core/model/estimate.ts";
import { FlatBank, third } from "../support/anisotropy-frames.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { poissonSource } from "../support/random.ts";

const SIDE = 96;
const bank = new FlatBank({ x: 46.3, y: 48.9 });
const mask = third(bank);
const Q_STEP = (2 * Math.PI * 0.005) / (2 * 6);
/** A fall as that of most samples: Q^-2 above a flat part. */
const fall = bank.q.map((q) => 1 / (1 + (q / 0.02) ** 2));

const pixelsOf = (estimate: Estimate) => ringPixels(estimate, bank, { qMin: 0.03, qMax: 0.045 }, Q_STEP);

/**
 * Kolmogorov and Smirnov's distance from an even spread, times sqrt(n): 1.63 is exceeded by chance once in 100.
 */
function unevenness(chances: readonly number[]): number {
  const sorted = chances.toSorted((a, b) => a - b);
  const n = sorted.length;
  return Math.sqrt(n) * Math.max(...sorted.map((p, i) => Math.max(p - i / n, (i + 1) / n - p)));
}

/** A sample of so many counts a pixel at low Q, divided by a flood of so many, both drawn. */
function flooded(draw: (mean: number) => number, level: number, floodCounts: number): Estimate {
  const counts = fall.map((value) => draw(level * value));
  const flood = fall.map(() => draw(floodCounts));
  const norm = flood.map((count) => count / floodCounts);
  return {
    ...rawEstimate(SIDE, SIDE, counts, norm, mask),
    normRelativeVariance: flood.map((count) => 1 / count),
  };
}

describe("isotropic frames have chances that are spread evenly", () => {
  it.each([
    ["sample and flood alike", 2000, 500],
    ["the flood ten times better than the sample", 300, 1000],
  ])("where the flood's counts scatter, a third of the angles masked: %s", (_name, level, floodCounts) => {
    const draw = poissonSource(31);
    const chances = Array.from({ length: 200 }, () => isotropyTest(pixelsOf(flooded(draw, level, floodCounts)))!.p);
    expect(unevenness(chances)).toBeLessThan(1.63);
  });

  it("where the sample scatters hardly more than its cell, at a few counts a pixel", () => {
    const draw = poissonSource(37);
    const chances = Array.from({ length: 200 }, () => {
      const cell = fall.map((value) => draw(6 * value));
      const counts = fall.map((value) => draw(4 * value + 3 * value));
      const sample = rawEstimate(SIDE, SIDE, counts, undefined, mask);
      const half = new Float64Array(counts.length).fill(-0.5);
      const term = { role: "emptyCell", counts: cell, value: cell, variance: cell, coefficient: half };
      return isotropyTest(pixelsOf({ ...sample, terms: [...sample.terms, term] }))!.p;
    });
    expect(unevenness(chances)).toBeLessThan(1.63);
  });
});

describe("the scatter of a flood", () => {
  it("is part of every sigma, and of the goodness of the fit", () => {
    const draw = poissonSource(41);
    const pulls: number[] = [];
    let [chi2, degrees] = [0, 0];
    for (let k = 0; k < 60; k++) {
      const { fit, goodness } = measureAnisotropy(pixelsOf(flooded(draw, 2000, 500)))!;
      for (const [n, value] of fit.coefficients.entries()) pulls.push(value / Math.sqrt(fit.covariance.get(n, n)));
      chi2 += goodness.chi2;
      degrees += goodness.degreesOfFreedom;
    }
    // 360 pulls: the width scatters by 0.04; four of these. Without the flood's part it would be near 1.5.
    const width = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
    expect(Math.abs(width - 1)).toBeLessThan(0.16);
    // Some 15000 degrees of freedom: chi-square over them scatters by 0.012; four of these.
    expect(Math.abs(chi2 / degrees - 1)).toBeLessThan(0.05);
  });
});
