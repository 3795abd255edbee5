import { describe, expect, it } from "vitest";
import { axisOf, raised } from "../../../../renderer/curve/ticks.ts";

const labels = (axis: ReturnType<typeof axisOf>): string[] =>
  axis.ticks.map(({ label }) => label).filter((label) => label !== "");

describe("log axes", () => {
  it("number the decades, with marks from 2 to 9 between them", () => {
    const axis = axisOf({ scale: "log", domain: { low: 0.001, high: 1 }, range: [0, 300], room: 60 });
    expect(labels(axis)).toEqual(["0.001", "0.01", "0.1", "1"]);
    expect(axis.ticks).toHaveLength(28);
    expect(axis.to(0.01)).toBeCloseTo(100, 9);
    expect(axis.from(200)).toBeCloseTo(0.1, 12);
  });

  it("write far powers as powers, and leave some out where there are many", () => {
    const axis = axisOf({ scale: "log", domain: { low: 1e-12, high: 1e12 }, range: [0, 400], room: 50 });
    const shown = labels(axis);
    expect(shown.length).toBeLessThanOrEqual(9);
    expect(shown).toContain("10⁻¹²");
    expect(shown).toContain("1");
  });

  it("number 2 and 5 too where there is little more than a decade", () => {
    const axis = axisOf({ scale: "log", domain: { low: 0.009, high: 0.11 }, range: [0, 600], room: 60 });
    expect(labels(axis)).toEqual(["0.01", "0.02", "0.05", "0.1"]);
  });
});

describe("linear axes", () => {
  it("have round numbers with one number of digits", () => {
    const axis = axisOf({ scale: "linear", domain: { low: -0.31, high: 1.02 }, range: [0, 300], room: 60 });
    expect(labels(axis)).toEqual(["−0.2", "0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
    expect(axis.power).toBe(0);
  });

  it("take a common power of ten out of very small numbers", () => {
    const axis = axisOf({ scale: "linear", domain: { low: 0, high: 6.3e-4 }, range: [300, 0], room: 60 });
    expect(axis.power).toBe(-4);
    expect(labels(axis)).toEqual(["0", "1", "2", "3", "4", "5", "6"]);
  });

  it("stand at multiples of 45 degrees where they are asked to", () => {
    const axis = axisOf({
      scale: "linear",
      domain: { low: 0, high: 360 },
      range: [0, 500],
      room: 60,
      steps: [30, 45, 90],
    });
    expect(labels(axis)).toEqual(["0", "45", "90", "135", "180", "225", "270", "315", "360"]);
  });
});

it("raises exponents", () => {
  expect(raised(-12)).toBe("⁻¹²");
  expect(raised(0)).toBe("⁰");
});
