import { describe, expect, it } from "vitest";
import { thinned } from "../../../../renderer/curve/thin.ts";

const all = (n: number): Uint8Array => new Uint8Array(n).fill(1);

describe("thinned", () => {
  it("leaves a curve alone that the screen can show", () => {
    const x = Float64Array.of(0, 1, 2, 3);
    expect([...thinned(x, x, all(4))]).toEqual([0, 1, 2, 3]);
  });

  it("keeps first, last, lowest and highest of each column, in order", () => {
    const n = 100_000;
    const x = Float64Array.from({ length: n }, (_, i) => (i * 500) / n);
    const y = Float64Array.from({ length: n }, (_, i) => Math.sin(i) * 100);
    const kept = thinned(x, y, all(n));
    expect(kept.length).toBeLessThanOrEqual(4 * 500);
    for (let i = 1; i < kept.length; i++) expect(kept[i]).toBeGreaterThan(kept[i - 1]!);
    for (let column = 0; column < 500; column += 37) {
      const inside = [...y.keys()].filter((i) => Math.floor(x[i]!) === column);
      const shown = [...kept].filter((i) => Math.floor(x[i]!) === column);
      expect(Math.max(...shown.map((i) => y[i]!))).toBe(Math.max(...inside.map((i) => y[i]!)));
      expect(Math.min(...shown.map((i) => y[i]!))).toBe(Math.min(...inside.map((i) => y[i]!)));
      expect(shown[0]).toBe(inside[0]);
      expect(shown.at(-1)).toBe(inside.at(-1));
    }
  });

  it("leaves out what the axes have no place for", () => {
    const drawable = Uint8Array.of(1, 0, 1);
    expect([...thinned(Float64Array.of(0, Number.NaN, 2), Float64Array.of(0, Number.NaN, 2), drawable)]).toEqual([
      0, 2,
    ]);
  });
});
