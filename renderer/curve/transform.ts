import type { Curve, IntensityUnit, Profile } from "../../core/model/curve.ts";
import type { AxisScale, CurveAxes, CurveTransform } from "../view-types.ts";

/** Points as they are drawn. NaN where the transform has no value. */
export interface DrawnPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Ends of the error bars, one standard deviation either way. */
  readonly yLow: Float64Array;
  readonly yHigh: Float64Array;
}

interface TransformRule {
  readonly takes: "q" | "phi";
  readonly x: AxisScale;
  readonly y: AxisScale;
  /** Quantity, and unit. */
  readonly xLabel: readonly [string, string];
  /** `unit` is the intensity's, with a power of ten before it where the axis has one in common. */
  yLabel(unit: string): string;
  readonly name: string;
}

const RULES: Readonly<Record<CurveTransform, TransformRule>> = {
  "i-q": { takes: "q", x: "log", y: "log", xLabel: ["Q", "1/Å"], yLabel: (u) => `I (${u})`, name: "I against Q" },
  "lni-q2": {
    takes: "q",
    x: "linear",
    y: "linear",
    xLabel: ["Q²", "1/Å²"],
    yLabel: (u) => `ln (I / ${u})`,
    name: "ln I against Q²",
  },
  "iq4-q": {
    takes: "q",
    x: "linear",
    y: "linear",
    xLabel: ["Q", "1/Å"],
    yLabel: (u) => `I Q⁴ (${u} · 1/Å⁴)`,
    name: "I Q⁴ against Q",
  },
  "q2i-q": {
    takes: "q",
    x: "linear",
    y: "linear",
    xLabel: ["Q", "1/Å"],
    yLabel: (u) => `Q² I (${u} · 1/Å²)`,
    name: "Q² I against Q",
  },
  "i-phi": {
    takes: "phi",
    x: "linear",
    y: "linear",
    xLabel: ["φ", "°"],
    yLabel: (u) => `I (${u})`,
    name: "I against φ",
  },
};

const DEGREES = 180 / Math.PI;

/** Axes that suit a transform. */
export function usualAxes(transform: CurveTransform): CurveAxes {
  const { x, y } = RULES[transform];
  return { transform, x, y };
}

/** "ln I against Q²": for menus. */
export function transformName(transform: CurveTransform): string {
  return RULES[transform].name;
}

/**
 * What stands beside the axes: "I (1/cm)".
 * @param unit of the intensity
 * @param powers words before the unit for a power of ten that an axis has in common, or ""
 */
export function axisLabels(
  transform: CurveTransform,
  unit: IntensityUnit,
  powers: { readonly x: string; readonly y: string },
): { readonly x: string; readonly y: string } {
  const { xLabel, yLabel } = RULES[transform];
  return { x: `${xLabel[0]} (${powers.x}${xLabel[1]})`, y: yLabel(`${powers.y}${unit}`) };
}

/** True where the data can be drawn under the transform: curves against Q, profiles against phi. */
export function fits(transform: CurveTransform, data: Curve | Profile): boolean {
  return (RULES[transform].takes === "phi") === (data.kind === "annulus");
}

/** Q in 1/angstrom, or phi in degrees: what intervals and explanations are in. */
export function abscissa(data: Curve | Profile): Float64Array {
  return data.kind === "annulus" ? data.phi.map((phi) => phi * DEGREES) : data.q;
}

/** The axis value of Q or phi. */
export function axisX(transform: CurveTransform, value: number): number {
  return transform === "lni-q2" ? value * value : value;
}

/** The inverse of `axisX`. */
export function fromAxisX(transform: CurveTransform, x: number): number {
  return transform === "lni-q2" ? Math.sqrt(Math.max(0, x)) : x;
}

/** Values and the ends of their error bars: both go through the transform, so that bars about ln I are as lopsided as they are. */
export function drawnPoints(transform: CurveTransform, data: Curve | Profile): DrawnPoints {
  const from = abscissa(data);
  const n = from.length;
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  const yLow = new Float64Array(n);
  const yHigh = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const q = from[i] as number;
    const intensity = data.intensity[i] as number;
    const sigma = data.sigma[i] as number;
    x[i] = axisX(transform, q);
    y[i] = ordinate(transform, q, intensity);
    yLow[i] = ordinate(transform, q, intensity - sigma);
    yHigh[i] = ordinate(transform, q, intensity + sigma);
  }
  return { x, y, yLow, yHigh };
}

function ordinate(transform: CurveTransform, q: number, intensity: number): number {
  switch (transform) {
    case "i-q":
    case "i-phi":
      return intensity;
    case "lni-q2":
      return intensity > 0 ? Math.log(intensity) : Number.NaN;
    case "iq4-q":
      return intensity * q * q * q * q;
    case "q2i-q":
      return intensity * q * q;
  }
}

/** True where the axes have a place for the point: log axes have none at or below zero, and none is made up. */
export function isDrawable(axes: CurveAxes, x: number, y: number): boolean {
  if (!(Number.isFinite(x) && Number.isFinite(y))) return false;
  return (axes.x === "linear" || x > 0) && (axes.y === "linear" || y > 0);
}
