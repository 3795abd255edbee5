import type { PlacedCurve, PlotLayout } from "./layout.ts";

/** Colours and fonts, read from the style sheet. */
export interface PlotStyle {
  readonly line: string;
  readonly text: string;
  readonly muted: string;
  readonly accent: string;
  readonly curves: readonly string[];
  readonly numbers: string;
}

export interface LampMark {
  /** Screen column of the lit point. */
  readonly column: number;
  /** What to ring: the nearest point of each curve. */
  readonly points: readonly { readonly x: number; readonly y: number; readonly colour: number }[];
}

const POINT_RADIUS = 2.2;
const TICK = 5;

/** Axes, grid and points of a plot on a 2D canvas. The context is scaled to CSS px by the caller. */
export function paintPlot(
  context: CanvasRenderingContext2D,
  layout: PlotLayout,
  style: PlotStyle,
  errorBars: boolean,
): void {
  const { size, area } = layout;
  context.clearRect(0, 0, size.width, size.height);
  paintGrid(context, layout, style);
  context.save();
  context.beginPath();
  context.rect(area.left, area.top, area.right - area.left, area.bottom - area.top);
  context.clip();
  for (const placed of layout.curves) {
    const colour = style.curves[placed.colour] ?? style.text;
    if (placed.curve.line) paintLine(context, placed, colour);
    else paintPoints(context, placed, colour, errorBars);
  }
  context.restore();
}

function paintGrid(context: CanvasRenderingContext2D, { area, x, y }: PlotLayout, style: PlotStyle): void {
  context.lineWidth = 1;
  context.strokeStyle = style.line;
  context.globalAlpha = 0.55;
  context.beginPath();
  for (const { at, label } of x.ticks) {
    if (label === "") continue;
    context.moveTo(crisp(at), area.top);
    context.lineTo(crisp(at), area.bottom);
  }
  for (const { at, label } of y.ticks) {
    if (label === "") continue;
    context.moveTo(area.left, crisp(at));
    context.lineTo(area.right, crisp(at));
  }
  context.stroke();
  context.globalAlpha = 1;
  context.strokeStyle = style.muted;
  context.beginPath();
  context.moveTo(crisp(area.left), area.top);
  context.lineTo(crisp(area.left), crisp(area.bottom));
  context.lineTo(area.right, crisp(area.bottom));
  for (const { at, label } of x.ticks) {
    context.moveTo(crisp(at), area.bottom);
    context.lineTo(crisp(at), area.bottom + (label === "" ? TICK / 2 : TICK));
  }
  for (const { at, label } of y.ticks) {
    context.moveTo(area.left, crisp(at));
    context.lineTo(area.left - (label === "" ? TICK / 2 : TICK), crisp(at));
  }
  context.stroke();
  context.fillStyle = style.muted;
  context.font = `11px ${style.numbers}`;
  context.textAlign = "center";
  context.textBaseline = "top";
  for (const { at, label } of x.ticks) if (label !== "") context.fillText(label, at, area.bottom + 8);
  context.textAlign = "right";
  context.textBaseline = "middle";
  for (const { at, label } of y.ticks) if (label !== "") context.fillText(label, area.left - 8, at);
}

function paintPoints(context: CanvasRenderingContext2D, placed: PlacedCurve, colour: string, errorBars: boolean): void {
  const { x, y, yLow, yHigh, shown } = placed;
  if (errorBars) {
    context.strokeStyle = colour;
    context.globalAlpha = 0.55;
    context.lineWidth = 1;
    context.beginPath();
    for (const i of shown) {
      const at = x[i] as number;
      context.moveTo(at, yLow[i] as number);
      context.lineTo(at, yHigh[i] as number);
    }
    context.stroke();
    context.globalAlpha = 1;
  }
  context.fillStyle = colour;
  context.beginPath();
  for (const i of shown) {
    const at = x[i] as number;
    const up = y[i] as number;
    context.moveTo(at + POINT_RADIUS, up);
    context.arc(at, up, POINT_RADIUS, 0, 2 * Math.PI);
  }
  context.fill();
}

/** A line breaks where the axes have no place for a point. */
function paintLine(context: CanvasRenderingContext2D, placed: PlacedCurve, colour: string): void {
  const { x, y, drawable, shown } = placed;
  context.strokeStyle = colour;
  context.lineWidth = 1.5;
  context.beginPath();
  let before = -1;
  for (const i of shown) {
    const gap = before < 0 || drawable.subarray(before, i).includes(0);
    if (gap) context.moveTo(x[i] as number, y[i] as number);
    else context.lineTo(x[i] as number, y[i] as number);
    before = i;
  }
  context.stroke();
}

/** The lamp: a line at the lit point and a ring on every curve. On its own canvas, so that it moves without the rest. */
export function paintLamp(
  context: CanvasRenderingContext2D,
  layout: PlotLayout,
  lamp: LampMark | undefined,
  style: PlotStyle,
): void {
  const { size, area } = layout;
  context.clearRect(0, 0, size.width, size.height);
  if (!lamp) return;
  context.strokeStyle = style.accent;
  context.lineWidth = 1;
  context.beginPath();
  context.moveTo(crisp(lamp.column), area.top);
  context.lineTo(crisp(lamp.column), area.bottom);
  context.stroke();
  context.lineWidth = 2;
  for (const { x, y, colour } of lamp.points) {
    context.fillStyle = style.curves[colour] ?? style.text;
    context.beginPath();
    context.arc(x, y, 4, 0, 2 * Math.PI);
    context.fill();
    context.stroke();
  }
}

/** A line one px wide is sharp when its middle lies half way between two px. */
function crisp(at: number): number {
  return Math.round(at - 0.5) + 0.5;
}
