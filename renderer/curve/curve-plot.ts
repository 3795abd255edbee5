import type { CurveAxes, CurvePoint, PlottedCurve } from "../view-types.ts";
import { layoutPlot, nearestIndex, type PlotLayout, type PlotSize, placedCurve } from "./layout.ts";
import { type LampMark, type PlotStyle, paintLamp, paintPlot } from "./painter.ts";
import { readPlotStyle } from "./plot-style.ts";

/** A point of another curve is lit with the lamp's when it stands this close along the abscissa, CSS px. */
const SAME_ABSCISSA = 6;

/**
 * The plot on two canvases, points below and lamp above, drawn on demand: any number of changes make one drawing in the
 * next animation frame. React stays out of it, so that a curve can follow a drag.
 */
export class CurvePlot {
  readonly #host: HTMLElement;
  readonly #points = document.createElement("canvas");
  readonly #lampCanvas = document.createElement("canvas");
  readonly #listeners = new Set<() => void>();
  #curves: readonly PlottedCurve[] = [];
  #axes: CurveAxes = { transform: "i-q", x: "log", y: "log" };
  #size: PlotSize = { width: 1, height: 1 };
  #errorBars = true;
  #lamp: CurvePoint | undefined;
  #layout: PlotLayout;
  #style: PlotStyle | undefined;
  #stale: "nothing" | "lamp" | "all" = "nothing";
  #request = 0;

  constructor(host: HTMLElement) {
    this.#host = host;
    this.#layout = layoutPlot([], this.#axes, this.#size);
    for (const canvas of [this.#points, this.#lampCanvas]) {
      canvas.setAttribute("aria-hidden", "true");
      host.prepend(canvas);
    }
    host.prepend(this.#points);
  }

  setCurves(curves: readonly PlottedCurve[]): void {
    this.#curves = curves;
    this.#invalidate("all");
  }

  setAxes(axes: CurveAxes): void {
    this.#axes = axes;
    this.#invalidate("all");
  }

  setSize(size: PlotSize): void {
    this.#size = size;
    this.#invalidate("all");
  }

  setErrorBars(errorBars: boolean): void {
    this.#errorBars = errorBars;
    this.#invalidate("all");
  }

  setLamp(lamp: CurvePoint | undefined): void {
    this.#lamp = lamp;
    this.#invalidate("lamp");
  }

  /** Colours or fonts have changed. */
  restyle(): void {
    this.#style = undefined;
    this.#invalidate("all");
  }

  /** What is on the screen (as of the last drawing). The same object until the next one. */
  readonly layout = (): PlotLayout => this.#layout;

  /** Tells when `layout` is another one. @returns the way to stop */
  readonly subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  destroy(): void {
    cancelAnimationFrame(this.#request);
    this.#listeners.clear();
    this.#points.remove();
    this.#lampCanvas.remove();
  }

  #invalidate(what: "lamp" | "all"): void {
    if (this.#stale !== "all") this.#stale = what;
    if (this.#request !== 0) return;
    this.#request = requestAnimationFrame(() => {
      this.#request = 0;
      this.#draw();
    });
  }

  #draw(): void {
    const everything = this.#stale === "all";
    this.#stale = "nothing";
    this.#style ??= readPlotStyle(this.#host);
    if (everything) {
      this.#layout = layoutPlot(this.#curves, this.#axes, this.#size);
      const context = prepared(this.#points, this.#size);
      paintPlot(context, this.#layout, this.#style, this.#errorBars);
    }
    const mark = this.#mark();
    paintLamp(prepared(this.#lampCanvas, this.#size), this.#layout, mark, this.#style);
    // A canvas that was only cleared has been seen to keep its old picture on the screen.
    this.#lampCanvas.style.visibility = mark ? "visible" : "hidden";
    if (everything) for (const listener of this.#listeners) listener();
  }

  #mark(): LampMark | undefined {
    if (!this.#lamp) return undefined;
    const lit = placedCurve(this.#layout, this.#lamp.key);
    if (lit?.drawable[this.#lamp.index] !== 1) return undefined;
    const column = lit.x[this.#lamp.index] as number;
    const points = [];
    for (const placed of this.#layout.curves) {
      if (placed.curve.line) continue;
      const i = placed === lit ? this.#lamp.index : nearestIndex(placed, column);
      if (i === undefined || Math.abs((placed.x[i] as number) - column) > SAME_ABSCISSA) continue;
      points.push({ x: placed.x[i] as number, y: placed.y[i] as number, colour: placed.colour });
    }
    return { column, points };
  }
}

/** The canvas in the screen's own pixels, its context in CSS px. */
function prepared(canvas: HTMLCanvasElement, { width, height }: PlotSize): CanvasRenderingContext2D {
  const context = canvas.getContext("2d");
  if (!context) throw new Error("this browser has no 2D canvas");
  const ratio = window.devicePixelRatio;
  const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
  if (canvas.width !== w) canvas.width = w;
  if (canvas.height !== h) canvas.height = h;
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  return context;
}
