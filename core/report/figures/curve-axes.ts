import type { IntensityUnit } from "../../model/curve.ts";
import type { AxisSpec } from "./axis.ts";

/** What is drawn of a curve: I against Q, ln I against Q^2, I Q^4 against Q, Q^2 I against Q. */
export type CurveTransformName = "i-q" | "lni-q2" | "iq4-q" | "q2i-q";

/** What is drawn, and on which axes. */
export interface CurveView {
  readonly transform: CurveTransformName;
  readonly x: AxisSpec["scale"];
  readonly y: AxisSpec["scale"];
}

/** From (Q, I) to what is drawn. `y` is increasing in I, so that it takes the ends of an error bar to its ends. */
export interface CurveTransform {
  readonly x: (q: number) => number;
  readonly y: (intensity: number, q: number) => number;
  readonly xAxis: AxisSpec;
  readonly yAxis: AxisSpec;
}

/**
 * The transform of a view. ln I against Q^2 is straight where the Guinier law holds, I Q^4 is level where Porod's law
 * holds, and Q^2 I is bounded for compact particles.
 * @see Guinier & Fournet, Small-Angle Scattering of X-Rays (Wiley, 1955)
 */
export function curveTransform(view: CurveView, unit: IntensityUnit): CurveTransform {
  const x = (q: number): number => q;
  const xAxis: AxisSpec = { label: "Q", unit: "1/Å", scale: view.x };
  switch (view.transform) {
    case "i-q":
      return { x, y: (intensity) => intensity, xAxis, yAxis: { label: "I", unit, scale: view.y } };
    case "lni-q2":
      return {
        x: (q) => q * q,
        y: (intensity) => (intensity > 0 ? Math.log(intensity) : Number.NaN),
        xAxis: { label: "Q^2", unit: "1/Å^2", scale: view.x },
        // A logarithm already: a second one would say nothing.
        yAxis: { label: `ln I, I in ${unit}`, unit: "", scale: "linear" },
      };
    case "iq4-q":
      return {
        x,
        y: (intensity, q) => intensity * q * q * q * q,
        xAxis,
        yAxis: { label: "I Q^4", unit: `${unit}/Å^4`, scale: view.y },
      };
    case "q2i-q":
      return {
        x,
        y: (intensity, q) => intensity * q * q,
        xAxis,
        yAxis: { label: "Q^2 I", unit: `${unit}/Å^2`, scale: view.y },
      };
  }
}
