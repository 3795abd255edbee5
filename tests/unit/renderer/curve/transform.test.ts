import { describe, expect, it } from "vitest";
import type { Curve, Profile } from "../../../../core/model/curve.ts";
import {
  abscissa,
  axisLabels,
  axisX,
  drawnPoints,
  fits,
  fromAxisX,
  isDrawable,
  usualAxes,
} from "../../../../renderer/curve/transform.ts";
import { CURVE_TRANSFORMS } from "../../../../renderer/view-types.ts";
import { curveOf, profileOf } from "./curves.ts";

const CURVE: Curve = curveOf([0.01, 0.1], [100, -2], [10, 1]);

describe("drawnPoints", () => {
  it("draws ln I against Q^2 with bars as lopsided as they are, and nothing for I <= 0", () => {
    const { x, y, yLow, yHigh } = drawnPoints("lni-q2", CURVE);
    expect([...x]).toEqual([0.01 * 0.01, 0.1 * 0.1]);
    expect(y[0]).toBeCloseTo(Math.log(100), 14);
    expect(yHigh[0]).toBeCloseTo(Math.log(110), 14);
    expect(yLow[0]).toBeCloseTo(Math.log(90), 14);
    expect(y[1]).toBeNaN();
  });

  it("makes a straight line of slope -Rg^2/3 of a Guinier curve, and a level of a Porod one", () => {
    // I = I0 exp(-Q^2 Rg^2 / 3) (Guinier 1939) and I = K Q^-4 (Porod 1951).
    const q = [0.01, 0.02, 0.03];
    const guinier = drawnPoints(
      "lni-q2",
      curveOf(
        q,
        q.map((v) => 7 * Math.exp((-v * v * 30 * 30) / 3)),
        [1, 1, 1],
      ),
    );
    expect((guinier.y[2]! - guinier.y[0]!) / (guinier.x[2]! - guinier.x[0]!)).toBeCloseTo(-300, 9);
    const porod = drawnPoints(
      "iq4-q",
      curveOf(
        q,
        q.map((v) => 3e-6 / v ** 4),
        [1, 1, 1],
      ),
    );
    for (const level of porod.y) expect(level / 3e-6).toBeCloseTo(1, 12);
  });

  it("multiplies value and bars by Q^2", () => {
    const { y, yLow, yHigh } = drawnPoints("q2i-q", CURVE);
    expect([y[1], yLow[1], yHigh[1]].map((v) => Number(v!.toPrecision(12)))).toEqual([-0.02, -0.03, -0.01]);
  });

  it("draws profiles against degrees", () => {
    const profile: Profile = profileOf([Math.PI / 2], [5], [1]);
    expect(drawnPoints("i-phi", profile).x[0]).toBeCloseTo(90, 12);
    expect(abscissa(profile)[0]).toBeCloseTo(90, 12);
  });
});

it("draws curves where Q is wanted and profiles where phi is", () => {
  for (const transform of CURVE_TRANSFORMS) {
    expect(fits(transform, CURVE)).toBe(transform !== "i-phi");
    expect(fits(transform, profileOf([0], [1], [1]))).toBe(transform === "i-phi");
    expect(fromAxisX(transform, axisX(transform, 0.07))).toBeCloseTo(0.07, 14);
    expect(usualAxes(transform).transform).toBe(transform);
  }
});

it("has no place for zero or less on log axes", () => {
  const log = { transform: "i-q", x: "log", y: "log" } as const;
  expect(isDrawable(log, 0.1, 0)).toBe(false);
  expect(isDrawable(log, 0.1, -1)).toBe(false);
  expect(isDrawable(log, 0, 1)).toBe(false);
  expect(isDrawable({ ...log, x: "linear", y: "linear" }, 0, -1)).toBe(true);
  expect(isDrawable(log, Number.NaN, 1)).toBe(false);
});

it("names quantities with their units", () => {
  const none = { x: "", y: "" };
  expect(axisLabels("i-q", "1/cm", none)).toEqual({ x: "Q (1/Å)", y: "I (1/cm)" });
  expect(axisLabels("lni-q2", "1/cm", none)).toEqual({ x: "Q² (1/Å²)", y: "ln (I / 1/cm)" });
  expect(axisLabels("iq4-q", "1/cm", { x: "", y: "10⁻⁶ " }).y).toBe("I Q⁴ (10⁻⁶ 1/cm · 1/Å⁴)");
  expect(axisLabels("i-phi", "counts", none)).toEqual({ x: "φ (°)", y: "I (counts)" });
});
