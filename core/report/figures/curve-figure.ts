import type { Curve, IntensityUnit } from "../../model/curve.ts";
import { type CurveView, curveTransform } from "./curve-axes.ts";
import { type PointSeries, pointFigure } from "./point-figure.ts";

/** Columns of a curve that a figure needs; overlays of curves from files have no more. */
export interface CurveSeries {
  readonly label: string;
  readonly curve: Pick<Curve, "q" | "intensity" | "sigma">;
  /** CSS colour; absent: the next of the fixed order. */
  readonly colour?: string;
  /** A line without points or error bars: a model, a fit. */
  readonly line?: boolean;
}

export interface CurveFigureOptions {
  readonly title: string;
  readonly series: readonly CurveSeries[];
  readonly unit: IntensityUnit;
  readonly view: CurveView;
  /** What a reader must know, for the face of the figure: the run, and what was not applied. */
  readonly notes: readonly string[];
}

/** Curves with error bars of one standard deviation, as SVG. */
export function curveFigure({ title, series, unit, view, notes }: CurveFigureOptions): string {
  const { x, y, xAxis, yAxis } = curveTransform(view, unit);
  const points = series.map(({ label, curve, colour, line }): PointSeries => {
    const { q, intensity, sigma } = curve;
    return {
      label,
      x: q.map(x),
      y: intensity.map((value, b) => y(value, q[b]!)),
      low: intensity.map((value, b) => y(value - sigma[b]!, q[b]!)),
      high: intensity.map((value, b) => y(value + sigma[b]!, q[b]!)),
      ...(colour === undefined ? {} : { colour }),
      ...(line === undefined ? {} : { line }),
    };
  });
  return pointFigure({ title, series: points, xAxis, yAxis, notes });
}
