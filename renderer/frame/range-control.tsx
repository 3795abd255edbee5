import "./range-control.css";
import { type KeyboardEvent, type PointerEvent, type ReactElement, useEffect, useMemo, useRef } from "react";
import { readable } from "../../core/model/numbers.ts";
import { followDrag } from "../interaction/pointer-drag.ts";
import { useDraft } from "../interaction/use-draft.ts";
import { useSize } from "../interaction/use-size.ts";
import type { CountRange, DragPhase, FrameDisplay, RangeControlProps } from "../view-types.ts";
import { scaledValue, scaleEnds } from "./count-scale.ts";
import {
  automaticRange,
  axisPosition,
  axisValue,
  type CountAxis,
  countHistogram,
  type Histogram,
} from "./histogram.ts";
import { PALETTE_SIZE, paletteBytes } from "./palette.ts";
import { axisNumbers, withEnd } from "./range-edit.ts";

const BINS = 96;
const HEIGHT = 30; // CSS px of the bars
const LEAST_BAR = 1.5; // CSS px
const BAR_HEIGHT = 8; // CSS px of the colours
/** Numbers below the axis stand at least this far apart, CSS px. */
const NUMBER_ROOM = 44;
const STEP = 0.01;
const LARGE_STEP = 0.1;

/** How the counts are spread, which of them the colours span, and what each colour means: one axis for all three. */
export function RangeControl({ frame, display, onRangeChange }: RangeControlProps): ReactElement {
  const host = useRef<HTMLDivElement>(null);
  const size = useSize(host);
  const [range, change] = useDraft(display.range, onRangeChange);
  const counts = frame?.counts;
  const mask = frame?.mask;
  const histogram = useMemo(() => counts && mask && countHistogram(counts, mask, BINS), [counts, mask]);
  const automatic = (): void => {
    if (frame) change(automaticRange(frame.counts, frame.mask, display.scale), "end");
  };
  const width = size?.width ?? 0;
  return (
    <div className="range-control">
      <div className="range-plot" ref={host}>
        {histogram && width > 0 && (
          <>
            <Bars histogram={histogram} range={range} width={width} />
            <ColourBar axis={histogram.axis} display={{ ...display, range }} width={width} />
            <Numbers axis={histogram.axis} width={width} />
            {(["low", "high"] as const).map((end) => (
              <RangeHandle
                key={end}
                end={end}
                axis={histogram.axis}
                range={range}
                width={width}
                host={host}
                onChange={change}
              />
            ))}
          </>
        )}
      </div>
      <div className="range-values">
        <button
          type="button"
          className="range-auto"
          onClick={automatic}
          disabled={!frame}
          title="Range from the unmasked pixels' percentiles"
        >
          Automatic
        </button>
        <span className="number">{frame ? `${readable(range.low)} – ${readable(range.high)}` : "–"}</span>
      </div>
    </div>
  );
}

function Bars({
  histogram,
  range,
  width,
}: {
  readonly histogram: Histogram;
  readonly range: CountRange;
  readonly width: number;
}): ReactElement {
  const d = useMemo(() => barsPath(histogram, width), [histogram, width]);
  const low = axisPosition(histogram.axis, range.low) * width;
  const high = axisPosition(histogram.axis, range.high) * width;
  return (
    <svg className="range-bars" width={width} height={HEIGHT} role="presentation">
      <rect className="range-inside" x={low} y={0} width={Math.max(0, high - low)} height={HEIGHT} />
      <path d={d} />
    </svg>
  );
}

/** One step a bin; heights go with the root of the pixels, and one pixel is enough to be seen beside a million. */
function barsPath({ axis, edges, pixels }: Histogram, width: number): string {
  let most = 0;
  for (const n of pixels) most = Math.max(most, n);
  let d = `M0 ${HEIGHT}`;
  for (let i = 0; i < pixels.length; i++) {
    const left = axisPosition(axis, edges[i] as number) * width;
    const right = axisPosition(axis, edges[i + 1] as number) * width;
    const n = pixels[i] as number;
    const up = HEIGHT - (n > 0 ? LEAST_BAR + Math.sqrt(n / most) * (HEIGHT - 2 - LEAST_BAR) : 0);
    d += `L${left.toFixed(1)} ${up.toFixed(1)}H${right.toFixed(1)}`;
  }
  return `${d}V${HEIGHT}Z`;
}

function ColourBar({
  axis,
  display,
  width,
}: {
  readonly axis: CountAxis;
  readonly display: FrameDisplay;
  readonly width: number;
}): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const context = canvas.current?.getContext("2d");
    if (!context) return;
    const image = context.createImageData(PALETTE_SIZE, 1);
    const palette = paletteBytes(display.palette);
    const ends = scaleEnds(display.scale, display.range);
    for (let i = 0; i < PALETTE_SIZE; i++) {
      const t = scaledValue(ends, axisValue(axis, i / (PALETTE_SIZE - 1)));
      const entry = 4 * Math.round(t * (PALETTE_SIZE - 1));
      image.data.set(palette.subarray(entry, entry + 4), 4 * i);
    }
    context.putImageData(image, 0, 0);
  }, [axis, display]);
  return (
    <canvas
      ref={canvas}
      className="range-colours"
      width={PALETTE_SIZE}
      height={1}
      style={{ width, height: BAR_HEIGHT }}
    />
  );
}

function Numbers({ axis, width }: { readonly axis: CountAxis; readonly width: number }): ReactElement {
  return (
    <div className="range-numbers number">
      {axisNumbers(axis, NUMBER_ROOM / width).map((value) => {
        const place = axisPosition(axis, value);
        const side = place < 0.04 ? "range-first" : place > 0.96 ? "range-last" : "";
        return (
          <span key={value} className={side} style={{ left: `${place * 100}%` }}>
            {axisNumber(value)}
          </span>
        );
      })}
    </div>
  );
}

/** "100k" would need learning, "1.000e+5" room: whole numbers are written out. */
function axisNumber(value: number): string {
  return Number.isSafeInteger(value) ? String(value) : readable(value);
}

interface RangeHandleProps {
  readonly end: keyof CountRange;
  readonly axis: CountAxis;
  readonly range: CountRange;
  readonly width: number;
  readonly host: { readonly current: Element | null };
  readonly onChange: (range: CountRange, phase: DragPhase) => void;
}

function RangeHandle({ end, axis, range, width, host, onChange }: RangeHandleProps): ReactElement {
  const place = axisPosition(axis, range[end]);
  const stepping = useRef(false);
  const grab = (event: PointerEvent<HTMLDivElement>): void => {
    if (event.button !== 0 || !host.current) return;
    event.preventDefault();
    event.currentTarget.focus();
    const move = (x: number, phase: DragPhase): void => onChange(withEnd(axis, range, end, x / width), phase);
    followDrag(event, host.current, {
      move: ({ x }) => move(x, "drag"),
      end: ({ x }) => move(x, "end"),
      cancel: () => onChange(range, "end"),
    });
  };
  const press = (event: KeyboardEvent): void => {
    const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (way === undefined) return;
    event.preventDefault();
    stepping.current = true;
    onChange(withEnd(axis, range, end, place + way * (event.shiftKey ? LARGE_STEP : STEP)), "drag");
  };
  const release = (): void => {
    if (!stepping.current) return;
    stepping.current = false;
    onChange(range, "end");
  };
  return (
    <div
      className="range-handle"
      style={{ left: place * width }}
      role="slider"
      tabIndex={0}
      aria-label={end === "low" ? "Range from" : "Range to"}
      aria-valuenow={range[end]}
      aria-valuemin={axis.low}
      aria-valuemax={axis.high}
      onPointerDown={grab}
      onKeyDown={press}
      onKeyUp={release}
      onBlur={release}
    />
  );
}
