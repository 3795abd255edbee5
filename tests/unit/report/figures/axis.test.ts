import { describe, expect, it } from "vitest";
import { type AxisSpec, extentOf, fractionAlong, makeAxis } from "../../../../core/report/figures/axis.ts";

const linear: AxisSpec = { label: "I", unit: "1/cm", scale: "linear" };
const log: AxisSpec = { label: "Q", unit: "1/Å", scale: "log" };
const labels = (spec: AxisSpec, low: number, high: number) =>
  makeAxis(spec, { low, high }).ticks.flatMap(({ label }) => (label === undefined ? [] : [label]));

describe("axes", () => {
  it("have round ticks with as many places as they need", () => {
    expect(labels(linear, 0, 4)).toEqual(["0", "1", "2", "3", "4"]);
    expect(labels(linear, 0.9, 3.1)).toEqual(["1.0", "1.5", "2.0", "2.5", "3.0"]);
    expect(labels(linear, -1, 1)).toEqual(["\u22121.0", "\u22120.5", "0.0", "0.5", "1.0"]);
  });

  it("put the power of ten of very small and large numbers beside the unit", () => {
    const axis = makeAxis(linear, { low: 0, high: 8e-5 });
    expect(axis.title).toBe("I (10^-5 1/cm)");
    expect(axis.ticks.map(({ label }) => label)).toEqual(["0", "2", "4", "6", "8"]);
    expect(axis.ticks[1]!.value).toBeCloseTo(2e-5, 12);
  });

  it("number the decades of a logarithm, and 2 and 5 where there are few", () => {
    expect(labels(log, 0.002, 300)).toEqual(["0.01", "0.1", "1", "10", "100"]);
    expect(labels(log, 0.004, 0.25)).toEqual(["0.005", "0.01", "0.02", "0.05", "0.1", "0.2"]);
    expect(labels(log, 1e-7, 1e7).every((label) => /^10\^-?\d+$/.test(label))).toBe(true);
  });

  it("number a part of a decade evenly", () => {
    expect(labels(log, 1.2, 1.3)).toEqual(["1.1", "1.2", "1.3", "1.4", "1.5"]);
    const axis = makeAxis(log, { low: 1.2, high: 1.3 });
    expect(axis.scale).toBe("log");
    expect(labels(log, 25, 190).length).toBeGreaterThanOrEqual(3);
  });

  it("place a value by its logarithm", () => {
    const axis = makeAxis(log, { low: 0.01, high: 1 });
    const [a, b, c] = [0.01, 0.1, 1].map((value) => fractionAlong(axis, value));
    expect(b! - a!).toBeCloseTo(c! - b!, 12);
    expect(a!).toBeGreaterThan(0);
    expect(c!).toBeLessThan(1);
  });

  it("don't count what has no logarithm", () => {
    expect(extentOf([-1, 0, 2, Number.NaN, 8], "log")).toEqual({ low: 2, high: 8 });
    expect(extentOf([-1, 0, 2, Number.NaN, 8], "linear")).toEqual({ low: -1, high: 8 });
    expect(extentOf([0, -3], "log")).toBeUndefined();
  });
});
