import { describe, expect, it } from "vitest";
import { qxQyGrid } from "../../../core/anisotropy/qxqy-grid.ts";
import { FlatBank, third } from "../../support/anisotropy-frames.ts";
import { poissonSource } from "../../support/random.ts";

const bank = new FlatBank({ x: 46.3, y: 48.9 });
const draw = poissonSource(2);
const counts = bank.frame(1e5, (_phi, q) => 1 / (1 + (q / 0.02) ** 2)).map((mean) => draw(mean));
const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);

describe("a frame on a grid of Qx and Qy", () => {
  it("keeps every count and every norm of the unmasked pixels, at any step", () => {
    const mask = third(bank);
    const { estimate } = bank.ground(counts, mask);
    const kept = sum(counts.map((value, p) => (mask[p] === 0 ? value : 0)));
    const pixels = mask.filter((bits) => bits === 0).length;
    for (const step of [undefined, 0.002, 0.0201]) {
      const grid = qxQyGrid(bank.ground(counts, mask), step);
      expect(sum(grid.counts)).toBe(kept);
      expect(sum(grid.norm)).toBe(pixels);
      expect(sum(grid.pixels)).toBe(pixels);
      // I = sum(signal)/sum(norm): the intensities give the counts back.
      const back = grid.intensity.reduce(
        (total, value, c) => total + (grid.norm[c]! > 0 ? value * grid.norm[c]! : 0),
        0,
      );
      expect(Math.abs(back / kept - 1)).toBeLessThan(1e-12);
    }
    expect(estimate.mask).toBe(mask);
  });

  it("has Q = 0 in the middle of a cell, Poisson sigmas, and NaN where no pixel lies", () => {
    const grid = qxQyGrid(bank.ground(counts));
    expect(grid.qx).toContain(0);
    expect(grid.qy).toContain(0);
    let empty = 0;
    for (let c = 0; c < grid.pixels.length; c++) {
      if (grid.pixels[c] === 0) {
        empty++;
        expect(grid.intensity[c]).toBeNaN();
        expect(grid.sigma[c]).toBeNaN();
      } else {
        // Zero counts get the variance of one.
        const expected = Math.sqrt(Math.max(1, grid.counts[c]!)) / grid.norm[c]!;
        expect(Math.abs(grid.sigma[c]! / expected - 1)).toBeLessThan(1e-12);
      }
    }
    expect(empty).toBeLessThan(0.02 * grid.pixels.length);
  });

  it("puts a pixel where its Q is", () => {
    const lit = new Float64Array(counts.length);
    const [x, y] = [60, 70];
    lit[y * 96 + x] = 7;
    const grid = qxQyGrid(bank.ground(lit));
    const cell = grid.counts.findIndex((value) => value >= 7);
    // Q = 2 pi/lambda sin(atan(r/L)) for each component of a flat bank square to the beam.
    const [dx, dy] = [(x - 46.3) * 0.005, (y - 48.9) * 0.005];
    const scale = (2 * Math.PI) / 6 / Math.hypot(dx, dy, 2);
    expect(Math.abs(grid.qx[cell % grid.width]! - dx * scale)).toBeLessThanOrEqual(grid.step / 2);
    expect(Math.abs(grid.qy[Math.floor(cell / grid.width)]! - dy * scale)).toBeLessThanOrEqual(grid.step / 2);
  });

  it("refuses a step that is no width, or that would take all memory", () => {
    for (const step of [0, -1, Number.NaN, 1e-9]) expect(() => qxQyGrid(bank.ground(counts), step)).toThrow(RangeError);
  });
});
