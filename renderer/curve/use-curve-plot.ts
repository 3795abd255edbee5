import { type RefObject, useEffect, useState } from "react";
import type { CurveAxes, CurvePoint, PlottedCurve } from "../view-types.ts";
import { CurvePlot } from "./curve-plot.ts";
import type { PlotSize } from "./layout.ts";
import { watchPlotStyle } from "./plot-style.ts";

export interface PlotContents {
  readonly curves: readonly PlottedCurve[];
  readonly axes: CurveAxes;
  readonly errorBars: boolean;
  readonly lamp: CurvePoint | undefined;
  readonly size: PlotSize | undefined;
}

/** Keeps a CurvePlot inside `host` in step with its contents. Undefined until it is there. */
export function useCurvePlot(host: RefObject<HTMLElement | null>, contents: PlotContents): CurvePlot | undefined {
  const { curves, axes, errorBars, lamp, size } = contents;
  const [plot, setPlot] = useState<CurvePlot>();
  useEffect(() => {
    const { current } = host;
    if (!current) return;
    const made = new CurvePlot(current);
    const unwatch = watchPlotStyle(() => made.restyle());
    setPlot(made);
    return () => {
      unwatch();
      made.destroy();
      setPlot(undefined);
    };
  }, [host]);
  useEffect(() => plot?.setCurves(curves), [plot, curves]);
  useEffect(() => plot?.setAxes(axes), [plot, axes]);
  useEffect(() => plot?.setErrorBars(errorBars), [plot, errorBars]);
  useEffect(() => plot?.setLamp(lamp), [plot, lamp]);
  useEffect(() => {
    if (size) plot?.setSize(size);
  }, [plot, size]);
  return plot;
}
