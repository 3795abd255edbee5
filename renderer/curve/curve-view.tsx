import "./curve.css";
import { type ReactElement, type Ref, useImperativeHandle, useMemo, useRef, useSyncExternalStore } from "react";
import type { IntensityUnit } from "../../core/model/curve.ts";
import { useSize } from "../interaction/use-size.ts";
import type { CurvePoint, CurveTransform, CurveViewHandle, CurveViewProps, PlottedCurve } from "../view-types.ts";
import type { CurvePlot } from "./curve-plot.ts";
import { IntervalOverlay } from "./interval-overlay.tsx";
import { placedCurve } from "./layout.ts";
import { raised } from "./ticks.ts";
import { axisLabels, fits } from "./transform.ts";
import { useCurveHands } from "./use-curve-hands.ts";
import { useCurvePlot } from "./use-curve-plot.ts";

/** Adds what tests need. */
export interface CurveViewProbe extends CurveViewHandle {
  /** Where a point stands in the plot, CSS px; undefined where it is not drawn. */
  screenOf(point: CurvePoint): { readonly x: number; readonly y: number } | undefined;
}

/** Curves with their axes, error bars, brushed range and lamp. */
export function CurveView(props: CurveViewProps & { readonly ref?: Ref<CurveViewProbe> | undefined }): ReactElement {
  const { curves, axes, errorBars, interval, onIntervalChange, lamp, ref } = props;
  const host = useRef<HTMLDivElement>(null);
  const size = useSize(host);
  const plot = useCurvePlot(host, { curves, axes, errorBars, lamp, size });
  const hands = useCurveHands(plot, props);
  useImperativeHandle(ref, () => ({
    show: (next) => plot?.setCurves(next),
    screenOf: ({ key, index }) => {
      const placed = plot && placedCurve(plot.layout(), key);
      return placed?.drawable[index] === 1 ? { x: placed.x[index] as number, y: placed.y[index] as number } : undefined;
    },
  }));
  const drawn = useMemo(() => curves.filter(({ data }) => fits(axes.transform, data)), [curves, axes.transform]);
  const units = [...new Set(drawn.map(({ data }) => data.unit))];
  const unit = units.length > 1 ? "mixed units" : (units[0] ?? "1/cm");
  const plain = axisLabels(axes.transform, unit, { x: "", y: "" });
  return (
    <div className="curve-view">
      <div className="curve-legend">
        {drawn.map((curve) => (
          <LegendEntry key={curve.key} curve={curve} place={curves.indexOf(curve)} />
        ))}
        {plot && <HiddenPoints plot={plot} />}
      </div>
      <div className="curve-body">
        {/* biome-ignore lint/a11y/useSemanticElements: a fieldset would bring a form's look and meaning */}
        <div
          ref={host}
          className="curve-plot"
          role="group"
          // biome-ignore lint/a11y/noNoninteractiveTabindex: arrow keys walk along the curve
          tabIndex={0}
          aria-label={`${plain.y} against ${plain.x}, ${drawn.length} ${drawn.length === 1 ? "curve" : "curves"}`}
          onPointerDown={hands.press}
          onPointerMove={hands.move}
          onPointerLeave={hands.leave}
          onDoubleClick={hands.clear}
          onKeyDown={hands.key}
        >
          {size && (
            <svg className="curve-overlay" width={size.width} height={size.height} role="presentation">
              {plot && interval && onIntervalChange && (
                <IntervalOverlay
                  plot={plot}
                  interval={interval}
                  unit={axes.transform === "i-phi" ? "°" : "1/Å"}
                  onChange={onIntervalChange}
                />
              )}
            </svg>
          )}
          {plot && <AxisLabels plot={plot} transform={axes.transform} unit={unit} />}
        </div>
        {drawn.length === 0 && <p className="curve-empty">No curve for these axes yet.</p>}
      </div>
    </div>
  );
}

function LegendEntry({ curve, place }: { readonly curve: PlottedCurve; readonly place: number }): ReactElement {
  const colour = `var(--curve-${(curve.colourIndex ?? place) % 8})`;
  return (
    <span className="curve-legend-entry">
      <i className={curve.line ? "curve-swatch curve-swatch-line" : "curve-swatch"} style={{ background: colour }} />
      {curve.label}
    </span>
  );
}

interface AxisLabelsProps {
  readonly plot: CurvePlot;
  readonly transform: CurveTransform;
  readonly unit: IntensityUnit;
}

/** A power of ten that the numbers of an axis have in common stands before its unit. */
function AxisLabels({ plot, transform, unit }: AxisLabelsProps): ReactElement {
  const { x, y } = useSyncExternalStore(plot.subscribe, plot.layout);
  const words = (power: number): string => (power === 0 ? "" : `10${raised(power)} `);
  const labels = axisLabels(transform, unit, { x: words(x.power), y: words(y.power) });
  return (
    <>
      <span className="curve-label-x">{labels.x}</span>
      <span className="curve-label-y">{labels.y}</span>
    </>
  );
}

/** Log axes have no place for I <= 0: such points are left out, and counted here. */
function HiddenPoints({ plot }: { readonly plot: CurvePlot }): ReactElement | null {
  const { hidden } = useSyncExternalStore(plot.subscribe, plot.layout);
  if (hidden === 0) return null;
  return (
    <span className="curve-note">
      <span className="number">{hidden}</span> {hidden === 1 ? "point" : "points"} at or below zero not shown
    </span>
  );
}
