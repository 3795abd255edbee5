import type { AxisScale, CurveAxes, CurveInterval, CurvePoint, PlottedCurve } from "../view-types.ts";
import { type Domain, type Domains, domainsOf, domainsWithLines } from "./domain.ts";
import { thinned } from "./thin.ts";
import { type Axis, axisOf } from "./ticks.ts";
import { abscissa, axisX, type DrawnPoints, drawnPoints, fits, fromAxisX, isDrawable } from "./transform.ts";

export interface PlotSize {
  readonly width: number;
  readonly height: number;
}

/** A curve on the screen, CSS px; entries that are not drawable hold NaN. */
export interface PlacedCurve {
  readonly curve: PlottedCurve;
  readonly colour: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly yLow: Float64Array;
  readonly yHigh: Float64Array;
  readonly drawable: Uint8Array;
  /** Indices to draw, in order. */
  readonly shown: Int32Array;
}

export interface PlotLayout {
  readonly size: PlotSize;
  readonly axes: CurveAxes;
  readonly area: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number };
  readonly domains: Domains;
  readonly x: Axis;
  readonly y: Axis;
  readonly curves: readonly PlacedCurve[];
  /** Points that the axes have no place for: I <= 0 on a log axis or under a logarithm. */
  readonly hidden: number;
}

/** CSS px round the plotting area: room for numbers and labels. */
const MARGINS = { left: 68, right: 24, top: 14, bottom: 46 } as const;
const X_ROOM = 64;
const Y_ROOM = 40;
const DEGREE_STEPS = [30, 45, 90, 180] as const;
/** Points farther away than this are not under the pointer, CSS px. */
const REACH = 40;
const ALL_AROUND = { low: 0, high: 360 };

export function layoutPlot(curves: readonly PlottedCurve[], wanted: CurveAxes, size: PlotSize): PlotLayout {
  // Degrees go round: a logarithm of them says nothing.
  const axes: CurveAxes = wanted.transform === "i-phi" ? { ...wanted, x: "linear" } : wanted;
  const chosen = curves
    .map((curve, i) => ({ curve, colour: (curve.colourIndex ?? i) % 8 }))
    .filter(({ curve }) => fits(axes.transform, curve.data));
  const points = chosen.map(({ curve }) => drawnPoints(axes.transform, curve.data));
  const measured = points.filter((_, i) => chosen[i]?.curve.line !== true);
  const found = domainsWithLines(domainsOf(measured, axes), domainsOf(points, axes), axes);
  const domains = {
    // All directions are there, whichever of them a mask leaves.
    x: axes.transform === "i-phi" ? ALL_AROUND : (found?.x ?? emptyDomain(axes.x)),
    y: found?.y ?? emptyDomain(axes.y),
  };
  const area = {
    left: MARGINS.left,
    right: Math.max(MARGINS.left + 1, size.width - MARGINS.right),
    top: MARGINS.top,
    bottom: Math.max(MARGINS.top + 1, size.height - MARGINS.bottom),
  };
  const x = axisOf({
    scale: axes.x,
    domain: domains.x,
    range: [area.left, area.right],
    room: X_ROOM,
    steps: axes.transform === "i-phi" ? DEGREE_STEPS : undefined,
  });
  const y = axisOf({ scale: axes.y, domain: domains.y, range: [area.bottom, area.top], room: Y_ROOM });
  let hidden = 0;
  const placed = chosen.map(({ curve, colour }, i) => {
    const one = place(points[i] as DrawnPoints, axes, x, y, area.bottom);
    for (let k = 0; k < one.drawable.length; k++) if (one.drawable[k] === 0) hidden++;
    return { curve, colour, ...one };
  });
  return { size, axes, area, domains, x, y, curves: placed, hidden };
}

function emptyDomain(scale: AxisScale): Domain {
  return scale === "log" ? { low: 1e-3, high: 1 } : { low: 0, high: 1 };
}

function place(points: DrawnPoints, axes: CurveAxes, xAxis: Axis, yAxis: Axis, floor: number) {
  const n = points.x.length;
  const x = new Float64Array(n).fill(Number.NaN);
  const y = new Float64Array(n).fill(Number.NaN);
  const yLow = new Float64Array(n).fill(Number.NaN);
  const yHigh = new Float64Array(n).fill(Number.NaN);
  const drawable = new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    const px = points.x[i] as number;
    const py = points.y[i] as number;
    if (!isDrawable(axes, px, py)) continue;
    drawable[i] = 1;
    x[i] = xAxis.to(px);
    y[i] = yAxis.to(py);
    const low = points.yLow[i] as number;
    // A bar that reaches zero or below runs to the foot of a log axis: it has no end there.
    yLow[i] = isDrawable(axes, px, low) ? Math.min(floor, yAxis.to(low)) : floor;
    yHigh[i] = yAxis.to(points.yHigh[i] as number);
  }
  return { x, y, yLow, yHigh, drawable, shown: thinned(x, y, drawable) };
}

/** The drawn point next to a place on the screen; undefined where none is within reach. */
export function pointNear(layout: PlotLayout, at: { readonly x: number; readonly y: number }): CurvePoint | undefined {
  let best: CurvePoint | undefined;
  let least = REACH;
  for (const { curve, x, y, drawable } of layout.curves) {
    if (curve.line) continue;
    for (let i = 0; i < x.length; i++) {
      if (drawable[i] === 0) continue;
      const away = Math.hypot((x[i] as number) - at.x, (y[i] as number) - at.y);
      if (away < least) {
        least = away;
        best = { key: curve.key, index: i };
      }
    }
  }
  return best;
}

export function placedCurve(layout: PlotLayout, key: string): PlacedCurve | undefined {
  return layout.curves.find(({ curve }) => curve.key === key);
}

/** The next drawable point of a curve in a direction; the same one at the end. */
export function steppedPoint(layout: PlotLayout, from: CurvePoint, by: -1 | 1): CurvePoint {
  const curve = placedCurve(layout, from.key);
  for (let i = from.index + by; curve && i >= 0 && i < curve.drawable.length; i += by) {
    if (curve.drawable[i] !== 0) return { key: from.key, index: i };
  }
  return from;
}

/** The point of the next curve (or the one before) that is nearest along the abscissa. */
export function pointOnOtherCurve(layout: PlotLayout, from: CurvePoint, by: -1 | 1): CurvePoint {
  const drawn = layout.curves.filter(({ curve }) => !curve.line);
  const at = drawn.findIndex(({ curve }) => curve.key === from.key);
  const here = drawn[at];
  const other = drawn[at + by];
  if (!here || !other) return from;
  const index = nearestIndex(other, here.x[from.index] as number);
  return index === undefined ? from : { key: other.curve.key, index };
}

/** The drawable point of a curve that is nearest to a screen column. */
export function nearestIndex({ x, drawable }: PlacedCurve, column: number): number | undefined {
  let best: number | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < x.length; i++) {
    const away = Math.abs((x[i] as number) - column);
    if (drawable[i] !== 0 && away < least) {
      least = away;
      best = i;
    }
  }
  return best;
}

/** First point that can be lit by keys. */
export function firstPoint(layout: PlotLayout): CurvePoint | undefined {
  for (const { curve, drawable } of layout.curves) {
    const index = drawable.indexOf(1);
    if (index >= 0 && !curve.line) return { key: curve.key, index };
  }
  return undefined;
}

/** Q or phi at a screen column. */
export function abscissaAt({ axes, x }: PlotLayout, column: number): number {
  return fromAxisX(axes.transform, x.from(column));
}

/** Screen column of Q or phi, within the plotting area. */
export function columnOf({ axes, x, area }: PlotLayout, value: number): number {
  const onAxis = axisX(axes.transform, value);
  if (axes.x === "log" && !(onAxis > 0)) return area.left;
  return Math.min(area.right, Math.max(area.left, x.to(onAxis)));
}

/** The range between two screen columns, in rising order, with as many digits as a screen can tell apart. */
export function intervalBetween(layout: PlotLayout, a: number, b: number): CurveInterval {
  const { left, right } = layout.area;
  const [first, last] = [Math.min(a, b), Math.max(a, b)].map((column) => Math.min(right, Math.max(left, column)));
  return { low: digits(abscissaAt(layout, first as number)), high: digits(abscissaAt(layout, last as number)) };
}

function digits(value: number): number {
  return Number(value.toPrecision(4));
}

/** Q or phi of a point. */
export function abscissaOf(curve: PlottedCurve, index: number): number {
  return abscissa(curve.data)[index] as number;
}
