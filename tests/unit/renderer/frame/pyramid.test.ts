import { describe, expect, it } from "vitest";
import { baseLevel, levelFor, Pyramid, pooled } from "../../../../renderer/frame/pyramid.ts";

describe("pooled", () => {
  it("keeps the largest value of two by two pixels, and of what is left at odd edges", () => {
    const level = pooled(baseLevel(Uint32Array.of(1, 2, 3, 4, 9, 5, 7, 8, 6), new Uint16Array(9), 3, 3));
    expect([level.width, level.height]).toEqual([2, 2]);
    expect([...level.values]).toEqual([9, 5, 8, 6]);
  });

  it("leaves masked pixels out, and is masked only where all are", () => {
    const level = pooled(
      baseLevel(Uint32Array.of(100, 2, 7, 7, 1, 3, 7, 7), Uint16Array.of(1, 0, 4, 4, 0, 0, 4, 4), 4, 2),
    );
    expect([...level.values]).toEqual([3, 0]);
    expect([...level.masked]).toEqual([0, 255]);
  });

  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])(
    "lets %d through, wherever it stands",
    (bad) => {
      for (let at = 0; at < 4; at++) {
        const values = Float64Array.of(1, 2, 3, 4);
        values[at] = bad;
        expect(pooled(baseLevel(values, new Uint16Array(4), 2, 2)).values[0]).toBeNaN();
      }
    },
  );

  it("keeps negative values", () => {
    expect(pooled(baseLevel(Float64Array.of(-3, -2, -5, -4), new Uint16Array(4), 2, 2)).values[0]).toBe(-2);
  });
});

it("shows one hot pixel of a large frame at every level", () => {
  const counts = new Uint16Array(1000 * 700);
  counts[123 * 1000 + 777] = 60_000;
  const pyramid = new Pyramid(baseLevel(counts, new Uint16Array(counts.length), 1000, 700));
  for (let k = 0; k <= 10; k++) {
    const { values, width } = pyramid.level(k);
    expect(values[(123 >> k) * width + (777 >> k)]).toBe(60_000);
  }
});

describe("levelFor", () => {
  it("takes the frame itself from one screen pixel a pixel up", () => {
    expect(levelFor(7, 512, 512)).toBe(0);
    expect(levelFor(1, 512, 512)).toBe(0);
    expect(levelFor(0.9999999, 512, 512)).toBe(0);
  });

  it("makes texels at least one screen pixel wide below that, and less than two", () => {
    for (const scale of [0.99, 0.7, 0.5, 0.49, 0.26, 0.1, 0.03]) {
      const width = scale * 2 ** levelFor(scale, 4096, 4096);
      expect(width).toBeGreaterThanOrEqual(1 - 1e-6);
      expect(width).toBeLessThan(2);
    }
  });

  it("ends with one texel for the whole frame", () => {
    expect(levelFor(1e-6, 1000, 700)).toBe(10);
  });
});
