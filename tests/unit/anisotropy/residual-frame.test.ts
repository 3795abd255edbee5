import { describe, expect, it } from "vitest";
import { mirrorParts } from "../../../core/anisotropy/mirror-parts.ts";
import { residualParts } from "../../../core/anisotropy/residual-parts.ts";
import { azimuthMap, qMap } from "../../../core/geometry/maps.ts";
import { FlatBank, third } from "../../support/anisotropy-frames.ts";
import { poissonSource } from "../../support/random.ts";

const fall = (q: number) => 1 / (1 + (q / 0.02) ** 2);
const flat = (length: number) => new Float64Array(length).fill(1);

function spread(values: Float64Array): { readonly mean: number; readonly width: number; readonly count: number } {
  const finite = values.filter((value) => Number.isFinite(value));
  const mean = finite.reduce((sum, value) => sum + value, 0) / finite.length;
  const width = Math.sqrt(finite.reduce((sum, value) => sum + (value - mean) ** 2, 0) / finite.length);
  return { mean, width, count: finite.length };
}

describe("even and odd parts under a half turn about the beam", () => {
  it("are exact where pixels lie on pixels, and together the map", () => {
    const { geometry } = new FlatBank({ x: 40, y: 30.5 });
    const values = Float64Array.from({ length: 96 * 96 }, (_, p) => Math.sin(p));
    const { even, odd, evenSigma } = mirrorParts(values, flat(values.length), geometry);
    for (const [x, y] of [
      [40, 31],
      [12, 7],
      [79, 60],
    ] as const) {
      const [p, mirror] = [y * 96 + x, (61 - y) * 96 + 80 - x];
      expect(even[p]).toBe((values[p]! + values[mirror]!) / 2);
      expect(odd[p]).toBe((values[p]! - values[mirror]!) / 2);
      expect(even[p]! + odd[p]!).toBeCloseTo(values[p]!, 14);
      expect(evenSigma[p]).toBeCloseTo(Math.SQRT1_2, 14);
    }
  });

  it("say nothing where the mirror image is masked or outside the frame", () => {
    const { geometry } = new FlatBank({ x: 40, y: 30.5 });
    const values = flat(96 * 96);
    values[20 * 96 + 10] = Number.NaN;
    const { even } = mirrorParts(values, flat(values.length), geometry);
    expect(even[41 * 96 + 70]).toBeNaN();
    expect(even[95 * 96 + 5]).toBeNaN();
    expect(even[41 * 96 + 71]).toBe(1);
  });

  it("know that a pixel on the centre is its own mirror image", () => {
    const { geometry } = new FlatBank({ x: 40, y: 30 });
    const parts = mirrorParts(flat(96 * 96), flat(96 * 96), geometry);
    expect(parts.evenSigma[30 * 96 + 40]).toBe(1);
    expect(parts.oddSigma[30 * 96 + 40]).toBe(0);
  });
});

describe("even and odd parts on a tilted bank", () => {
  const geometry = { ...new FlatBank({ x: 40.3, y: 50.8 }).geometry, tilt: [0.3, -0.2] as const };
  const [q, phi] = [qMap(geometry), azimuthMap(geometry)];
  const sigma = flat(q.length);

  it("take what an even function of Q and azimuth has at -Q: nothing is left in the odd part, and the other way round", () => {
    const evenMap = q.map((value, p) => 1 + 10 * value + Math.cos(2 * phi[p]! - 0.4));
    const oddMap = q.map((value, p) => value * Math.cos(phi[p]! - 0.4));
    const [even, odd] = [mirrorParts(evenMap, sigma, geometry), mirrorParts(oddMap, sigma, geometry)];
    let seen = 0;
    for (const [p, value] of even.odd.entries()) {
      if (!Number.isFinite(value) || q[p]! < 0.02) continue;
      seen++;
      // Interpolation between pixels: half a pixel squared of a curvature of 4 over the square of 12 pixels' distance.
      expect(Math.abs(value)).toBeLessThan(0.004);
      expect(Math.abs(odd.even[p]!)).toBeLessThan(0.0002);
    }
    expect(seen).toBeGreaterThan(4000);
  });

  it("are those of the bank square to the beam where the tilt is next to nothing", () => {
    const values = Float64Array.from({ length: q.length }, (_, p) => Math.sin(p));
    const square = mirrorParts(values, sigma, { ...geometry, tilt: [0, 0] });
    const hardly = mirrorParts(values, sigma, { ...geometry, tilt: [1e-9, 1e-9] });
    for (const [p, value] of square.even.entries())
      if (Number.isFinite(value)) expect(Math.abs(hardly.even[p]! - value)).toBeLessThan(1e-5);
  });
});

describe("the residual frame", () => {
  it("of an isotropic Poisson frame scatters by one sigma in every part", () => {
    const bank = new FlatBank({ x: 46.3, y: 48.9 });
    const draw = poissonSource(4);
    const counts = bank.frame(1e6, (_phi, q) => fall(q)).map((mean) => draw(mean));
    const parts = residualParts(bank.ground(counts, third(bank)));
    for (const values of Object.values(parts)) {
      const { mean, width, count } = spread(values);
      // Some 3000 to 6000 values: chance moves the mean by 0.02 and the width by 0.013; four of these, and some
      // hundredths that the radial average and shared neighbours take.
      expect(count).toBeGreaterThan(2500);
      expect(Math.abs(mean)).toBeLessThan(0.08);
      expect(Math.abs(width - 1)).toBeLessThan(0.07);
    }
  });

  it("shows anisotropy in its even part and a wrong centre in its odd one", () => {
    const bank = new FlatBank({ x: 46.5, y: 48.5 });
    const anisotropic = residualParts(
      bank.ground(bank.frame(1e7, (phi, q) => fall(q) * (1 + 0.4 * Math.cos(2 * (phi - 1))))),
    );
    expect(spread(anisotropic.even).width).toBeGreaterThan(20 * spread(anisotropic.odd).width);
    const used = new FlatBank({ x: 46.5, y: 49 });
    const shifted = residualParts(used.ground(bank.frame(1e7, (_phi, q) => fall(q))));
    expect(spread(shifted.odd).width).toBeGreaterThan(4 * spread(shifted.even).width);
  });
});
