import { type AxisSpec, canStand, extentOf, makeAxis } from "./axis.ts";
import { EDGE, notesBlock, titleBlock } from "./notes.ts";
import { COLUMN_WIDTH, curveColour, NOTE_SIZE } from "./palette.ts";
import { type PlacedAxes, placeX, placeY, plotFrame, ROOM_BELOW, roomLeftOf } from "./plot-frame.ts";
import { at, clipped, element, figure, plainText } from "./svg.ts";
import { shortened } from "./wrap.ts";

/** Points with error bars, one entry a point; NaN: left out. */
export interface PointSeries {
  readonly label: string;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly colour?: string;
  /** A line without points or error bars: a model, a fit. */
  readonly line?: boolean;
}

export interface PointFigure {
  readonly title: string;
  readonly series: readonly PointSeries[];
  readonly xAxis: AxisSpec;
  readonly yAxis: AxisSpec;
  readonly notes: readonly string[];
}

const PLOT_HEIGHT = 158;
const LEGEND_LINE = 12;
const NOTHING = { low: 0.1, high: 1 };

/** Points with error bars on linear or logarithmic axes, as SVG, one column wide. */
export function pointFigure({ title, series, xAxis, yAxis, notes }: PointFigure): string {
  const x = makeAxis(xAxis, extentOf(valuesOf(series, "x", xAxis, yAxis), xAxis.scale) ?? NOTHING);
  const y = makeAxis(yAxis, extentOf(barsOf(series, yAxis), yAxis.scale) ?? NOTHING);
  const head = titleBlock(title);
  const legend = legendBlock(series, head.height);
  const left = EDGE + roomLeftOf(y);
  const box = {
    left,
    top: head.height + legend.height,
    width: COLUMN_WIDTH - left - 2 * EDGE,
    height: PLOT_HEIGHT,
  };
  const axes: PlacedAxes = { box, x, y };
  const below = box.top + box.height + ROOM_BELOW;
  const foot = notesBlock([...notes, ...leftOutNote(series, xAxis, yAxis)], below + 2);
  return figure(below + foot.height + 2, title, [
    head.markup,
    legend.markup,
    clipped(
      box,
      series.map((one, index) => seriesMarkup(one, index, axes)),
    ),
    plotFrame(axes),
    foot.markup,
  ]);
}

function* valuesOf(series: readonly PointSeries[], key: "x" | "y", xAxis: AxisSpec, yAxis: AxisSpec) {
  for (const one of series) {
    for (let i = 0; i < one.x.length; i++) if (isShown(one, i, xAxis, yAxis)) yield one[key][i]!;
  }
}

function isShown({ x, y }: PointSeries, i: number, xAxis: AxisSpec, yAxis: AxisSpec): boolean {
  return canStand(x[i]!, xAxis.scale) && canStand(y[i]!, yAxis.scale);
}

/** Values that the vertical axis must hold: points and bars; on a logarithm a bar counts down to a third of its point. */
function* barsOf(series: readonly PointSeries[], { scale }: AxisSpec) {
  for (const { y, low, high } of series) {
    for (let i = 0; i < y.length; i++) {
      if (!canStand(y[i]!, scale)) continue;
      yield y[i]!;
      yield high[i]!;
      yield scale === "log" ? Math.max(low[i]!, y[i]! / 3) : low[i]!;
    }
  }
}

function leftOutNote(series: readonly PointSeries[], xAxis: AxisSpec, yAxis: AxisSpec): readonly string[] {
  let leftOut = 0;
  for (const one of series) for (let i = 0; i < one.x.length; i++) if (!isShown(one, i, xAxis, yAxis)) leftOut++;
  if (leftOut === 0) return [];
  return [`${leftOut} ${leftOut === 1 ? "point" : "points"} at 0 or below not shown: no logarithm`];
}

function seriesMarkup(series: PointSeries, index: number, axes: PlacedAxes): string {
  const colour = series.colour ?? curveColour(index);
  const bars: string[] = [];
  const marks: string[] = [];
  const line: string[] = [];
  let penDown = false;
  for (let i = 0; i < series.x.length; i++) {
    if (!canStand(series.x[i]!, axes.x.scale) || !canStand(series.y[i]!, axes.y.scale)) {
      penDown = false;
      continue;
    }
    const across = placeX(axes, series.x[i]!);
    const down = placeY(axes, series.y[i]!);
    marks.push(markPath(index, across, down));
    line.push(`${penDown ? "L" : "M"}${at(across)} ${at(down)}`);
    penDown = true;
    bars.push(`M${at(across)} ${at(barEnd(axes, series.high[i]!))}V${at(barEnd(axes, series.low[i]!))}`);
  }
  if (marks.length === 0) return "";
  if (series.line === true) {
    return element("path", { d: line.join(""), stroke: colour, "stroke-width": 1, fill: "none" });
  }
  return [
    element("path", { d: bars.join(""), stroke: colour, "stroke-width": 0.6, fill: "none" }),
    element("path", { d: marks.join(""), fill: colour }),
  ].join("\n");
}

/** A bar that reaches 0 or below has no end on a logarithm: it runs out of the picture. */
function barEnd(axes: PlacedAxes, value: number): number {
  const { box, y } = axes;
  return canStand(value, y.scale) ? placeY(axes, value) : box.top + box.height + 1;
}

/** Filled marks that differ by shape besides colour, all of about the same area. */
function markPath(index: number, x: number, y: number): string {
  const place = `M${at(x)} ${at(y)}`;
  switch (index % 4) {
    case 0:
      return `${place}m-1.5 0a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0 -3 0z`;
    case 1:
      return `${place}m-1.35 -1.35h2.7v2.7h-2.7z`;
    case 2:
      return `${place}m0 -1.9l1.8 3.2h-3.6z`;
    default:
      return `${place}m0 -1.9l1.9 1.9l-1.9 1.9l-1.9 -1.9z`;
  }
}

/** One line a series, above the plot; none for a single one, which the title names. */
function legendBlock(
  series: readonly PointSeries[],
  top: number,
): { readonly markup: string; readonly height: number } {
  if (series.length < 2) return { markup: "", height: 0 };
  const half = (COLUMN_WIDTH - 2 * EDGE) / 2;
  const entries = series.map(({ label, colour, line }, index) => {
    const x = EDGE + 3 + half * (index % 2);
    const y = top + LEGEND_LINE * Math.floor(index / 2) + 2;
    const ink = colour ?? curveColour(index);
    const sign =
      line === true
        ? element("path", { d: `M${at(x - 3)} ${at(y)}h6`, stroke: ink, "stroke-width": 1 })
        : element("path", { d: markPath(index, x, y), fill: ink });
    return [
      sign,
      plainText({ x: x + 6, y: y + NOTE_SIZE * 0.36, "font-size": NOTE_SIZE }, shortened(label, half - 12, NOTE_SIZE)),
    ].join("");
  });
  return { markup: entries.join("\n"), height: LEGEND_LINE * Math.ceil(series.length / 2) + 2 };
}
