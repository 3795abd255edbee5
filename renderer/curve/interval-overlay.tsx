import { type KeyboardEvent, type PointerEvent, type ReactElement, useRef, useSyncExternalStore } from "react";
import { followDrag } from "../interaction/pointer-drag.ts";
import type { CurveInterval, DragPhase } from "../view-types.ts";
import type { CurvePlot } from "./curve-plot.ts";
import { columnOf, intervalBetween } from "./layout.ts";

const STEP = 2; // CSS px
const LARGE_STEP = 16; // CSS px
const GRIP = 10; // CSS px

export interface IntervalOverlayProps {
  readonly plot: CurvePlot;
  readonly interval: CurveInterval;
  readonly unit: string;
  readonly onChange: (interval: CurveInterval, phase: DragPhase) => void;
}

/** The brushed range, with a handle at each end. Follows the plot's axes by itself. */
export function IntervalOverlay({ plot, interval, unit, onChange }: IntervalOverlayProps): ReactElement {
  const layout = useSyncExternalStore(plot.subscribe, plot.layout);
  const { top, bottom } = layout.area;
  const low = columnOf(layout, interval.low);
  const high = columnOf(layout, interval.high);
  return (
    <>
      <rect className="curve-interval" x={low} y={top} width={Math.max(0, high - low)} height={bottom - top} />
      {(["low", "high"] as const).map((end) => (
        <IntervalHandle
          key={end}
          end={end}
          at={end === "low" ? low : high}
          top={top}
          bottom={bottom}
          value={interval[end]}
          unit={unit}
          onMove={(column, phase) => {
            const now = plot.layout();
            const other = columnOf(now, end === "low" ? interval.high : interval.low);
            // The ends may not pass each other: a handle keeps its side.
            const kept = end === "low" ? Math.min(column, other - 1) : Math.max(column, other + 1);
            const moved = intervalBetween(now, kept, other);
            onChange(end === "low" ? { ...interval, low: moved.low } : { ...interval, high: moved.high }, phase);
          }}
        />
      ))}
    </>
  );
}

interface IntervalHandleProps {
  readonly end: "low" | "high";
  readonly at: number;
  readonly top: number;
  readonly bottom: number;
  readonly value: number;
  readonly unit: string;
  readonly onMove: (column: number, phase: DragPhase) => void;
}

function IntervalHandle({ end, at, top, bottom, value, unit, onMove }: IntervalHandleProps): ReactElement {
  const latest = useRef(onMove);
  latest.current = onMove;
  const stepping = useRef(false);
  const grab = (event: PointerEvent<SVGGElement>): void => {
    const svg = event.currentTarget.ownerSVGElement;
    if (event.button !== 0 || !svg) return;
    event.stopPropagation();
    followDrag(event, svg, {
      move: ({ x }) => latest.current(x, "drag"),
      end: ({ x }) => latest.current(x, "end"),
      cancel: () => latest.current(at, "end"),
    });
  };
  const press = (event: KeyboardEvent<SVGGElement>): void => {
    const way = event.key === "ArrowLeft" ? -1 : event.key === "ArrowRight" ? 1 : 0;
    if (way === 0) return;
    event.preventDefault();
    event.stopPropagation();
    stepping.current = true;
    onMove(at + way * (event.shiftKey ? LARGE_STEP : STEP), "drag");
  };
  const release = (): void => {
    if (!stepping.current) return;
    stepping.current = false;
    onMove(at, "end");
  };
  const middle = (top + bottom) / 2;
  return (
    <g
      className="curve-handle"
      role="slider"
      tabIndex={0}
      aria-label={end === "low" ? "Range from" : "Range to"}
      aria-valuenow={value}
      aria-valuetext={`${value} ${unit}`}
      onPointerDown={grab}
      onKeyDown={press}
      onKeyUp={release}
      onBlur={release}
    >
      <rect className="curve-handle-reach" x={at - GRIP / 2} y={top} width={GRIP} height={bottom - top} />
      <path className="curve-handle-line" d={`M${at} ${top}V${bottom}`} />
      <rect className="curve-handle-grip" x={at - 3} y={middle - 12} width={6} height={24} rx={3} />
    </g>
  );
}
