import { describe, expect, it } from "vitest";
import { automaticRange, axisPosition, axisValue, countHistogram } from "../../../../renderer/frame/histogram.ts";
import { axisNumbers, withEnd } from "../../../../renderer/frame/range-edit.ts";
import { poissonSource } from "../../../support/random.ts";

const none = (n: number): Uint16Array => new Uint16Array(n);

describe("countHistogram", () => {
  it("counts every unmasked finite pixel once", () => {
    const draw = poissonSource(3);
    const counts = Float64Array.from({ length: 5000 }, (_, i) => draw(1 + (i % 400)));
    const mask = none(5000);
    mask.fill(1, 0, 700);
    counts[900] = Number.NaN;
    counts[901] = Number.POSITIVE_INFINITY;
    const { pixels, total } = countHistogram(counts, mask, 96);
    expect(total).toBe(5000 - 700 - 2);
    expect(pixels.reduce((a, b) => a + b, 0)).toBe(total);
  });

  it("puts each value between its bin's edges", () => {
    const counts = Uint32Array.from({ length: 3000 }, (_, i) => (i * i) % 977);
    const { pixels, edges } = countHistogram(counts, none(3000), 64);
    for (let bin = 0; bin < pixels.length; bin++) {
      const inside = counts.filter((value) => value >= edges[bin]! && value < edges[bin + 1]!).length;
      expect(pixels[bin]).toBe(inside);
    }
  });

  it("never splits whole counts: each of the first bins holds one of them", () => {
    const { edges } = countHistogram(Uint16Array.of(0, 1, 2, 3, 10_000), none(5), 96);
    expect([...edges.subarray(0, 4)]).toEqual([-0.5, 0.5, 1.5, 2.5]);
    expect(edges.at(-1)).toBe(10_000.5);
  });

  it("spreads values below zero on a straight axis", () => {
    const { axis } = countHistogram(Float64Array.of(-4, 0, 4), none(3), 8);
    expect(axis.kind).toBe("linear");
    expect(axisPosition(axis, 0)).toBeCloseTo(0.5, 12);
  });

  it("holds for a frame without a pixel in use", () => {
    const { total, edges } = countHistogram(Uint32Array.of(3), Uint16Array.of(1), 8);
    expect(total).toBe(0);
    expect(edges.length).toBeGreaterThanOrEqual(2);
  });
});

describe("the axis", () => {
  it("runs from 0 to 1 and back", () => {
    const { axis } = countHistogram(Uint32Array.of(0, 5, 70_000), none(3), 32);
    for (const value of [0, 1, 37, 5000, 70_000])
      expect(axisValue(axis, axisPosition(axis, value)) / (value || 1)).toBeCloseTo(value === 0 ? 0 : 1, 9);
    expect(axisPosition(axis, 70_000)).toBe(1);
  });

  it("has numbers at zero and at powers of ten, as far apart as asked", () => {
    const { axis } = countHistogram(Uint32Array.of(0, 5, 70_000), none(3), 32);
    expect(axisNumbers(axis, 0.05)).toEqual([0, 1, 10, 100, 1000, 10_000]);
    const sparse = axisNumbers(axis, 0.3).map((value) => axisPosition(axis, value));
    for (let i = 1; i < sparse.length; i++) expect(sparse[i]! - sparse[i - 1]!).toBeGreaterThanOrEqual(0.3);
  });

  it("does not let the ends of a range pass each other", () => {
    const { axis } = countHistogram(Uint32Array.of(0, 5, 70_000), none(3), 32);
    const range = { low: 10, high: 1000 };
    expect(withEnd(axis, range, "low", 1).low).toBeLessThan(1000);
    expect(withEnd(axis, range, "high", 0).high).toBeGreaterThan(10);
    expect(withEnd(axis, range, "low", -1)).toEqual({ low: 0, high: 1000 });
  });
});

describe("automaticRange", () => {
  it("passes over a few bright pixels and all masked ones", () => {
    const counts = new Uint32Array(10_000).map((_, i) => 10 + (i % 90));
    counts[5] = 1_000_000;
    counts.fill(5_000, 100, 600);
    const mask = none(10_000);
    mask.fill(2, 100, 600);
    const { low, high } = automaticRange(counts, mask, "log");
    expect(low).toBe(10);
    expect(high).toBeLessThanOrEqual(99);
    expect(high).toBeGreaterThan(90);
  });

  it("starts a log scale at the smallest counts above zero", () => {
    const counts = new Uint32Array(1000).map((_, i) => i % 3);
    expect(automaticRange(counts, none(1000), "log")).toEqual({ low: 1, high: 2 });
  });

  it("gives a range with an extent whatever the frame", () => {
    for (const counts of [new Uint32Array(9), new Uint32Array(9).fill(7), Float64Array.of(Number.NaN)])
      for (const scale of ["linear", "log", "square-root"] as const) {
        const { low, high } = automaticRange(counts, none(counts.length), scale);
        expect(high).toBeGreaterThan(low);
      }
  });
});
