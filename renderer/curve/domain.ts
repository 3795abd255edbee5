import type { AxisScale, CurveAxes } from "../view-types.ts";
import { type DrawnPoints, isDrawable } from "./transform.ts";

export interface Domain {
  readonly low: number;
  readonly high: number;
}

export interface Domains {
  readonly x: Domain;
  readonly y: Domain;
}

/** An error bar widens the axis only this far below its point, so that one bad point does not flatten the rest. */
const MOST_BAR_DECADES = 0.5;
const MARGIN = 0.04;
/** How far a line without points may widen a log axis beyond them, decades. */
const LINE_DECADES = 0.5;

/** What the axes must span to show all points, and error bars within reason; undefined without a point to draw. */
export function domainsOf(curves: readonly DrawnPoints[], axes: CurveAxes): Domains | undefined {
  let [x0, x1, y0, y1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const { x, y, yLow, yHigh } of curves) {
    for (let i = 0; i < x.length; i++) {
      const px = x[i] as number;
      const py = y[i] as number;
      if (!isDrawable(axes, px, py)) continue;
      x0 = Math.min(x0, px);
      x1 = Math.max(x1, px);
      const top = yHigh[i] as number;
      const bottom = yLow[i] as number;
      y1 = Math.max(y1, Number.isFinite(top) ? top : py);
      const least = py * 10 ** -MOST_BAR_DECADES;
      if (axes.y === "log") y0 = Math.min(y0, Number.isFinite(bottom) ? Math.max(bottom, least) : least);
      else y0 = Math.min(y0, Number.isFinite(bottom) ? bottom : py);
    }
  }
  if (!(x1 >= x0)) return undefined;
  return { x: widened(axes.x, x0, x1), y: widened(axes.y, y0, y1) };
}

/**
 * Axes for points with lines among them, such as a fit: a line that runs far away from the points is cut, so that it does
 * not flatten them. Without any point the lines decide.
 */
export function domainsWithLines(points: Domains | undefined, all: Domains | undefined, axes: CurveAxes) {
  if (points === undefined || all === undefined) return all;
  const { low, high } = points.y;
  const [lowest, highest] =
    axes.y === "log"
      ? [low / 10 ** LINE_DECADES, high * 10 ** LINE_DECADES]
      : [low - (high - low) / 2, high + (high - low) / 2];
  return { x: all.x, y: { low: Math.max(all.y.low, lowest), high: Math.min(all.y.high, highest) } };
}

function widened(scale: AxisScale, low: number, high: number): Domain {
  if (scale === "log") {
    const margin = (high / low) ** MARGIN * (high > low ? 1 : 1.5);
    return { low: low / margin, high: high * margin };
  }
  const span = high > low ? high - low : Math.abs(low) || 1;
  // Zero is a natural end: an axis that reaches it from above does not go below.
  const bottom = low >= 0 && low < span * 0.5 ? 0 : low - MARGIN * span;
  return { low: bottom, high: high + MARGIN * span };
}
