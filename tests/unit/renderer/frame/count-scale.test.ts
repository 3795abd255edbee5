import { describe, expect, it } from "vitest";
import { scaledValue, scaleEnds } from "../../../../renderer/frame/count-scale.ts";

describe("scaledValue", () => {
  it("runs from 0 to 1 over the range on every scale, and stops there", () => {
    for (const scale of ["linear", "log", "square-root"] as const) {
      const ends = scaleEnds(scale, { low: 2, high: 50 });
      expect(scaledValue(ends, 2)).toBeCloseTo(0, 12);
      expect(scaledValue(ends, 50)).toBeCloseTo(1, 12);
      expect(scaledValue(ends, -7)).toBe(0);
      expect(scaledValue(ends, 1e9)).toBe(1);
    }
  });

  it("puts the middle where the scale has it", () => {
    expect(scaledValue(scaleEnds("linear", { low: 0, high: 100 }), 50)).toBeCloseTo(0.5, 12);
    expect(scaledValue(scaleEnds("log", { low: 1, high: 100 }), 10)).toBeCloseTo(0.5, 12);
    expect(scaledValue(scaleEnds("square-root", { low: 0, high: 100 }), 25)).toBeCloseTo(0.5, 12);
  });

  it("gives zero counts the lowest colour of a log scale that starts at zero, and one count another", () => {
    const ends = scaleEnds("log", { low: 0, high: 1000 });
    expect(scaledValue(ends, 0)).toBe(0);
    expect(scaledValue(ends, 1)).toBeGreaterThan(0.05);
  });

  it("survives ranges without extent or sign", () => {
    for (const scale of ["linear", "log", "square-root"] as const)
      for (const [low, high] of [
        [0, 0],
        [5, 5],
        [-3, -1],
        [7, 2],
      ] as const) {
        const t = scaledValue(scaleEnds(scale, { low, high }), 4);
        expect(t).toBeGreaterThanOrEqual(0);
        expect(t).toBeLessThanOrEqual(1);
      }
  });

  it("has no colour for what isn't a number", () => {
    expect(scaledValue(scaleEnds("linear", { low: 0, high: 1 }), Number.NaN)).toBeNaN();
    expect(scaledValue(scaleEnds("linear", { low: 0, high: 1 }), Number.POSITIVE_INFINITY)).toBeNaN();
  });
});
