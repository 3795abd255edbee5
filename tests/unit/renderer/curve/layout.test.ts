import { describe, expect, it } from "vitest";
import {
  columnOf,
  firstPoint,
  intervalBetween,
  layoutPlot,
  pointNear,
  pointOnOtherCurve,
  steppedPoint,
} from "../../../../renderer/curve/layout.ts";
import { usualAxes } from "../../../../renderer/curve/transform.ts";
import type { PlottedCurve } from "../../../../renderer/view-types.ts";
import { curveOf, profileOf } from "./curves.ts";

const SIZE = { width: 640, height: 480 };
const A: PlottedCurve = {
  key: "a",
  label: "A",
  data: curveOf([0.01, 0.02, 0.05, 0.1], [100, -3, 10, 1], [1, 1, 1, 0.1]),
};
const B: PlottedCurve = { key: "b", label: "B", data: curveOf([0.01, 0.1], [50, 0.5], [1, 0.1]) };
const layout = layoutPlot([A, B], usualAxes("i-q"), SIZE);

describe("layoutPlot", () => {
  it("leaves points at or below zero out of log axes and counts them", () => {
    expect(layout.hidden).toBe(1);
    expect([...layout.curves[0]!.shown]).toEqual([0, 2, 3]);
    expect(layout.curves[0]!.y[1]).toBeNaN();
  });

  it("shows them on linear axes", () => {
    expect(layoutPlot([A, B], { transform: "i-q", x: "linear", y: "linear" }, SIZE).hidden).toBe(0);
  });

  it("puts every point inside the plotting area, the larger I higher and the larger Q further right", () => {
    const { area, curves } = layout;
    for (const { x, y, shown } of curves)
      for (const i of shown) {
        expect(x[i]).toBeGreaterThan(area.left);
        expect(x[i]).toBeLessThan(area.right);
        expect(y[i]).toBeGreaterThan(area.top);
        expect(y[i]).toBeLessThan(area.bottom);
      }
    expect(curves[0]!.y[0]).toBeLessThan(curves[0]!.y[3]!);
    expect(curves[0]!.x[0]).toBeLessThan(curves[0]!.x[3]!);
  });

  it("cuts a line that runs far away from the points, and lets lines alone decide", () => {
    const fit: PlottedCurve = { key: "f", label: "fit", data: curveOf([0.01, 0.1], [60, 1e-9], [0, 0]), line: true };
    const { domains } = layoutPlot([B, fit], usualAxes("i-q"), SIZE);
    const alone = layoutPlot([B], usualAxes("i-q"), SIZE).domains;
    expect(domains.y.low).toBeCloseTo(alone.y.low / 10 ** 0.5, 12);
    expect(layoutPlot([fit], usualAxes("i-q"), SIZE).domains.y.low).toBeLessThan(1e-9);
  });

  it("runs a bar that reaches below zero to the foot of a log axis", () => {
    const bold: PlottedCurve = { key: "c", label: "C", data: curveOf([0.01, 0.1], [1, 0.5], [0.1, 0.7]) };
    const { curves, area } = layoutPlot([bold], usualAxes("i-q"), SIZE);
    expect(curves[0]!.yLow[1]).toBe(area.bottom);
    expect(curves[0]!.yLow[0]).toBeLessThan(area.bottom);
  });

  it("keeps profiles and curves apart, and all directions in sight", () => {
    const ring: PlottedCurve = { key: "r", label: "R", data: profileOf([1, 2], [3, 4], [1, 1]) };
    const profiles = layoutPlot([A, ring], { transform: "i-phi", x: "log", y: "linear" }, SIZE);
    expect(profiles.curves.map(({ curve }) => curve.key)).toEqual(["r"]);
    expect(profiles.domains.x).toEqual({ low: 0, high: 360 });
  });

  it("has axes without a curve", () => {
    expect(layoutPlot([], usualAxes("i-q"), SIZE).x.ticks.length).toBeGreaterThan(1);
  });
});

describe("finding points", () => {
  it("finds the nearest drawn one within reach", () => {
    const { x, y } = layout.curves[1]!;
    expect(pointNear(layout, { x: x[1]! + 5, y: y[1]! - 5 })).toEqual({ key: "b", index: 1 });
    expect(pointNear(layout, { x: layout.area.left + 1, y: layout.area.bottom - 1 })).toBeUndefined();
  });

  it("walks along a curve over what is not drawn, and stops at its ends", () => {
    expect(steppedPoint(layout, { key: "a", index: 0 }, 1)).toEqual({ key: "a", index: 2 });
    expect(steppedPoint(layout, { key: "a", index: 3 }, 1)).toEqual({ key: "a", index: 3 });
    expect(firstPoint(layout)).toEqual({ key: "a", index: 0 });
  });

  it("changes to the other curve at the nearest Q", () => {
    expect(pointOnOtherCurve(layout, { key: "a", index: 3 }, 1)).toEqual({ key: "b", index: 1 });
    expect(pointOnOtherCurve(layout, { key: "b", index: 1 }, 1)).toEqual({ key: "b", index: 1 });
  });
});

describe("ranges", () => {
  it("come from columns in either order and stay within the axes", () => {
    const [low, high] = [columnOf(layout, 0.02), columnOf(layout, 0.05)];
    expect(intervalBetween(layout, high, low)).toEqual({ low: 0.02, high: 0.05 });
    expect(intervalBetween(layout, -100, low).low).toBeGreaterThan(0.008);
    expect(columnOf(layout, 0)).toBe(layout.area.left);
    expect(columnOf(layout, 99)).toBe(layout.area.right);
  });

  it("are in Q, not in Q squared, whatever the axis", () => {
    const squared = layoutPlot([A], usualAxes("lni-q2"), SIZE);
    const column = columnOf(squared, 0.05);
    expect(intervalBetween(squared, column, squared.area.right).low).toBeCloseTo(0.05, 4);
  });
});
