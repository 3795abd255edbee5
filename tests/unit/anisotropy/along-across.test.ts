import { describe, expect, it } from "vitest";
import { alongAndAcross, sectorCosts } from "../../../core/anisotropy/along-across.ts";
import { FlatBank } from "../../support/anisotropy-frames.ts";
import { poissonSource } from "../../support/random.ts";

const DEGREE = Math.PI / 180;
const bank = new FlatBank({ x: 46.3, y: 48.9 });
const AXIS = 30 * DEGREE;
/** A + B sin^2(phi - axis) with A = 1, B = 3, under a fall. */
const law = (phi: number, q: number) => (1 + 3 * Math.sin(phi - AXIS) ** 2) / (1 + (q / 0.02) ** 2);

describe("curves along and across the axis", () => {
  const halfWidth = 15 * DEGREE;
  const choice = { axis: AXIS, halfWidth, bins: { spacing: "log", count: 20, qMin: 0.02, qMax: 0.1 } } as const;

  it("give the ratio of sector means and the strengths A and B of the law behind them", () => {
    const frame = bank.frame(1e9, law);
    const made = alongAndAcross(bank.ground(frame), choice, { unit: "counts" });
    if (!made.ok) throw new Error(made.fault.message);
    const { ratio, a, b } = made.value.comparison;
    // Means of sin^2 over sectors of half-width h: (1 - s)/2 and (1 + s)/2 with s = sin(2h)/(2h).
    const s = Math.sin(2 * halfWidth) / (2 * halfWidth);
    const expected = (1 + (3 * (1 - s)) / 2) / (1 + (3 * (1 + s)) / 2);
    expect(ratio.length).toBe(20);
    // A bin holds some ten pixels a sector near the beam: their lattice leaves a few per cent.
    const mean = ratio.reduce((sum, value) => sum + value, 0) / ratio.length;
    expect(Math.abs(mean / expected - 1)).toBeLessThan(0.02);
    const strength = b.map((value, i) => value / a[i]!);
    expect(Math.abs(strength.reduce((sum, value) => sum + value, 0) / 20 / 3 - 1)).toBeLessThan(0.05);
  });

  it("state the scatter of the ratio", () => {
    const draw = poissonSource(8);
    const mean = bank.frame(3e6, law);
    const exact = alongAndAcross(bank.ground(mean), choice, { unit: "counts" });
    if (!exact.ok) throw new Error(exact.fault.message);
    const pulls: number[] = [];
    for (let k = 0; k < 15; k++) {
      const made = alongAndAcross(bank.ground(mean.map((value) => draw(value))), choice, { unit: "counts" });
      if (!made.ok) throw new Error(made.fault.message);
      const { ratio, ratioSigma } = made.value.comparison;
      for (const [i, value] of ratio.entries()) pulls.push((value - exact.value.comparison.ratio[i]!) / ratioSigma[i]!);
    }
    // 300 pulls: the width of their distribution scatters by 0.04; four of these.
    const width = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
    expect(Math.abs(width - 1)).toBeLessThan(0.16);
  });
});

describe("what a sector's width costs", () => {
  it("follows the closed form on a full ring: least at tan D = 2 D, D the full width", () => {
    const costs = sectorCosts(
      bank.ground(bank.frame(1e7, (_phi, q) => 1 / (1 + (q / 0.02) ** 2))),
      { axis: 0.4, qMin: 0.03, qMax: 0.09 },
      [5, 15, 33.4, 45].map((degrees) => degrees * DEGREE),
    );
    for (const { halfWidth, countsShare, dilution, relativeSigma } of costs) {
      const full = 2 * halfWidth;
      // Two sectors on both sides: share 4 h/(pi/2 * 2) = 2 D/pi.
      expect(Math.abs(countsShare - (2 * full) / Math.PI)).toBeLessThan(0.02);
      expect(Math.abs(dilution - Math.sin(full) / full)).toBeLessThan(1e-12);
      // sqrt(D)/sin(D) over its least value, at D = 1.165561 (the root of tan D = 2 D).
      const least = Math.sqrt(1.165561) / Math.sin(1.165561);
      expect(Math.abs(relativeSigma / (Math.sqrt(full) / Math.sin(full) / least) - 1)).toBeLessThan(0.06);
    }
  });
});
