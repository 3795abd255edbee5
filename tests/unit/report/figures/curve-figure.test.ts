import { describe, expect, it } from "vitest";
import { type CurveView, curveTransform } from "../../../../core/report/figures/curve-axes.ts";
import { curveFigure } from "../../../../core/report/figures/curve-figure.ts";
import { profileFigure } from "../../../../core/report/figures/profile-figure.ts";
import { aCurve, aProfile } from "../../../support/reduction-builder.ts";
import { pathStarts, svgElements, svgTexts } from "../../../support/svg-shapes.ts";

const LOG: CurveView = { transform: "i-q", x: "log", y: "log" };
const shape = (values: readonly number[]) => ({
  q: Float64Array.from(values, (_, b) => 0.01 * (b + 1)),
  intensity: Float64Array.from(values),
  sigma: Float64Array.from(values, (v) => 0.2 * Math.abs(v)),
});
const draw = (curve: ReturnType<typeof shape>, view = LOG, line = false) =>
  curveFigure({
    title: "a",
    series: [{ label: "one", curve, line }],
    unit: "1/cm",
    view,
    notes: ["Not applied: flood"],
  });

/** Marks are the filled path, bars the stroked one, inside the clipped part. */
function drawn(svg: string) {
  const paths = svgElements(svg).filter(({ name, inside }) => name === "path" && inside.length === 2);
  const marks = paths.find(({ attributes: { stroke } }) => stroke === undefined);
  const strokes = paths.find(({ attributes: { stroke } }) => stroke !== undefined);
  const d = (element: (typeof paths)[number] | undefined) => element?.attributes.d ?? "";
  return { marks: pathStarts(d(marks)), bars: d(strokes) };
}

describe("curve figures", () => {
  it("are well-formed, one column wide, with axes, units and what was not applied", () => {
    const svg = draw(shape([8, 4, 2, 1]));
    const [root] = svgElements(svg);
    expect(root!.attributes).toMatchObject({ width: "241pt", "font-size": "9" });
    // 241 points of 1/72 inch are one column of 85 mm.
    expect((241 / 72) * 25.4).toBeCloseTo(85, 0);
    expect(svgTexts(svg)).toEqual(expect.arrayContaining(["Q (1/Å)", "I (1/cm)", "Not applied: flood"]));
    expect(svg).not.toMatch(/<script|<style|<font|href="http/);
  });

  it("put equal ratios at equal distances on logarithmic axes", () => {
    const { marks } = drawn(draw(shape([8, 4, 2, 1])));
    const steps = marks.slice(1).map(([, y], i) => y - marks[i]![1]);
    for (const step of steps) expect(step).toBeCloseTo(steps[0]!, 1);
    // Q doubles from the first to the second, and from the second to the fourth.
    expect(marks[3]![0] - marks[1]![0]).toBeCloseTo(marks[1]![0] - marks[0]![0], 1);
  });

  it("draw bars from I - sigma to I + sigma", () => {
    const { marks, bars } = drawn(draw(shape([2, 4]), { transform: "i-q", x: "linear", y: "linear" }));
    const ends = [...bars.matchAll(/M[\d.]+ ([\d.]+)V([\d.]+)/g)].map((match) => [Number(match[1]), Number(match[2])]);
    const unit = (marks[0]![1] - marks[1]![1]) / 2; // points a unit of I
    // sigma is 0.4 and 0.8; y grows downwards, so the high end comes first.
    expect(ends[0]![1]! - ends[0]![0]!).toBeCloseTo(2 * 0.4 * unit, 1);
    expect(ends[1]![1]! - ends[1]![0]!).toBeCloseTo(2 * 0.8 * unit, 1);
    expect((ends[0]![0]! + ends[0]![1]!) / 2).toBeCloseTo(marks[0]![1], 1);
  });

  it("leave out what has no logarithm, and say so", () => {
    const svg = draw(shape([8, 0, -2, 1]));
    expect(drawn(svg).marks).toHaveLength(2);
    expect(svgTexts(svg)).toContain("2 points at 0 or below not shown: no logarithm");
    expect(drawn(draw(shape([8, 0, -2, 1]), { transform: "i-q", x: "log", y: "linear" })).marks).toHaveLength(4);
  });

  it("break a line at a gap rather than bridge it", () => {
    const { bars: line } = drawn(draw(shape([8, 4, -1, 2, 1]), LOG, true));
    expect(line.match(/M/g)).toHaveLength(2);
    expect(line.match(/L/g)).toHaveLength(2);
  });

  it("run a bar that reaches 0 out of the picture", () => {
    const curve = { ...shape([4, 2]), sigma: Float64Array.of(0.1, 3) };
    const svg = draw(curve);
    const plot = svgElements(svg).find(({ name, inside }) => name === "svg" && inside.length === 1)!.attributes;
    const bottom = Number(plot.y) + Number(plot.height);
    const end = Number(/V([\d.]+)$/.exec(drawn(svg).bars)![1]);
    expect(end).toBeGreaterThan(bottom);
  });

  it("name several curves, with marks that differ in shape", () => {
    const curve = aCurve();
    const svg = curveFigure({
      title: 'a & b <"c">',
      series: [
        { label: "first & best", curve },
        { label: "second", curve },
      ],
      unit: "counts/s/sr",
      view: LOG,
      notes: [],
    });
    expect(svgTexts(svg)).toEqual(expect.arrayContaining(['a & b <"c">', "first & best", "second", "I (counts/s/sr)"]));
    const filled = svgElements(svg).filter(
      ({ name, attributes: { stroke } }) => name === "path" && stroke === undefined,
    );
    const shapes = filled.map(({ attributes: { d } }) => d!.replace(/^M[\d.-]+ [\d.-]+/, "").split("M")[0]);
    expect(new Set(shapes).size).toBe(2);
  });

  it("draw an empty curve as empty axes", () => {
    const svg = draw(shape([]));
    expect(drawn(svg).marks).toHaveLength(0);
    expect(svgTexts(svg)).toContain("Q (1/Å)");
  });
});

describe("curve transforms", () => {
  const apply = (transform: CurveView["transform"], q: number, i: number) => {
    const t = curveTransform({ transform, x: "linear", y: "linear" }, "1/cm");
    return [t.x(q), t.y(i, q)];
  };

  it("are what their axes say", () => {
    expect(apply("i-q", 0.5, 3)).toEqual([0.5, 3]);
    expect(apply("lni-q2", 0.5, Math.E)).toEqual([0.25, 1]);
    expect(apply("iq4-q", 0.5, 3)).toEqual([0.5, 3 / 16]);
    expect(apply("q2i-q", 0.5, 3)).toEqual([0.5, 3 / 4]);
  });

  it("make a straight line of Guinier's law, with the slope -Rg^2/3", () => {
    const rg = 40;
    const [a, b] = [0.005, 0.02].map((q) => apply("lni-q2", q, 12 * Math.exp(-((q * rg) ** 2) / 3)));
    expect((b![1]! - a![1]!) / (b![0]! - a![0]!)).toBeCloseTo(-(rg ** 2) / 3, 8);
  });

  it("raise powers in the labels", () => {
    const svg = draw(shape([1, 2]), { transform: "iq4-q", x: "linear", y: "linear" });
    expect(svg).toMatch(/I Q<tspan dy="-3" font-size="75%">4<\/tspan>/);
  });
});

describe("profile figures", () => {
  it("run from 0 to 360 degrees", () => {
    const profile = aProfile();
    const svg = profileFigure({
      title: "ring",
      series: [{ label: "ring", profile }],
      unit: "1/cm",
      notes: [],
    });
    expect(svgTexts(svg)).toEqual(expect.arrayContaining(["Azimuth (°)", "0", "90", "180", "270", "360"]));
    const { marks } = drawn(svg);
    expect(marks).toHaveLength(72);
    const plot = svgElements(svg).find(({ name, inside }) => name === "svg" && inside.length === 1)!.attributes;
    // The first bin's middle is at 2.5 of 360 degrees.
    expect((marks[0]![0] - Number(plot.x)) / Number(plot.width)).toBeCloseTo(2.5 / 360, 3);
  });
});
