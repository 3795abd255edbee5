import { describe, expect, it } from "vitest";
import { measureAnisotropy } from "../../../core/anisotropy/measures.ts";
import { ringCells, ringSlopes } from "../../../core/anisotropy/ring-cells.ts";
import { ringPixels } from "../../../core/anisotropy/ring-pixels.ts";
import { rawEstimate } from "../../support/estimate-builder.ts";
import { poissonSource, uniformSource } from "../../support/random.ts";

/** Two rings of 4000 pixels each at random angles, a third of them masked, on one row of a frame. */
function crowdedRings() {
  const draw = poissonSource(3);
  const uniform = uniformSource(4);
  const count = 8000;
  const phi = Float64Array.from({ length: count }, () => 2 * Math.PI * uniform());
  const q = Float64Array.from({ length: count }, (_, i) => (i % 2 === 0 ? 0.041 : 0.051) + 0.008 * uniform());
  const mask = Uint16Array.from(phi, (angle) => (angle < 2.1 ? 64 : 0));
  const counts = q.map((value, i) => draw(20 * (0.05 / value) ** 3 * (1 + 0.5 * Math.cos(2 * (phi[i]! - 0.4)))));
  const estimate = rawEstimate(count, 1, counts, undefined, mask);
  return ringPixels(estimate, { q, phi }, { qMin: 0.04, qMax: 0.06 }, 0.01);
}

describe("rings with many pixels", () => {
  const pixels = crowdedRings();

  it("are fitted in cells of a degree that keep every count and every norm", () => {
    const cells = ringCells(pixels, new Float64Array(2), new Float64Array(2));
    const total = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0);
    expect(pixels.count).toBeGreaterThan(5000);
    // Two rings, two thirds of the angles.
    expect(cells.filled).toBeGreaterThan(470);
    expect(cells.filled).toBeLessThan(490);
    expect(total(cells.signal)).toBe(total(pixels.signal));
    expect(total(cells.norm)).toBe(pixels.count);
  });

  it("give the measures and the sigmas of a fit pixel by pixel", () => {
    const pooled = measureAnisotropy(pixels)!;
    const single = measureAnisotropy({ ...pixels, cells: undefined })!;
    expect(pooled.pixels).toBe(single.pixels);
    for (const key of ["axis", "alignment", "p2"] as const) {
      const sigma = single[`${key}Sigma`];
      // What a degree blurs of the harmonics of order 6: 0.1 % of their weight, some hundredths of a sigma.
      expect(Math.abs(pooled[key] - single[key])).toBeLessThan(0.05 * sigma);
      expect(Math.abs(pooled[`${key}Sigma`] / sigma - 1)).toBeLessThan(0.005);
    }
  });

  it("have the slope of the intensity, whatever the width of a ring", () => {
    for (const [count, rings] of [
      [60, 6],
      [400, 40],
    ] as const) {
      const q = Float64Array.from({ length: count }, (_, i) => 0.05 + (0.01 * (i + 0.5)) / count);
      const many = ringPixels(
        rawEstimate(
          count,
          1,
          q.map((value) => 1e-6 / value ** 3),
        ),
        { q, phi: new Float64Array(count) },
        { qMin: 0.05, qMax: 0.06 },
        0.01 / rings,
      );
      const levels = many.ringQ.map((value) => 1e-6 / value ** 3);
      // Means over a tenth of Q of a curve that bends: some per cent of the slope.
      for (const slope of ringSlopes(many, levels)) expect(Math.abs(slope + 3)).toBeLessThan(0.1);
    }
  });
});
