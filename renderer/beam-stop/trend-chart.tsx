import { scaleLinear } from "d3-scale";
import { type MouseEvent, useMemo, useRef } from "react";
import type { BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import { readable } from "../../core/model/numbers.ts";
import { useSize } from "../interaction/use-size.ts";
import { seriesRange, type TrendPoint, type TrendSeries } from "./trend.ts";
import { verdictWord } from "./verdict-change.ts";

/** CSS px around the lines; the marks of points need room. */
const EDGE = 6;
/** A longer trend is a line without marks. */
const MOST_MARKS = 60;

/** One quantity over the frames of the run. A click on it shows the frame. */
export function TrendChart({
  trend,
  series,
  shown,
  onPick,
}: {
  readonly trend: readonly TrendPoint[];
  readonly series: TrendSeries;
  /** Key of the frame on show. */
  readonly shown: number | undefined;
  readonly onPick?: ((key: number) => void) | undefined;
}) {
  const place = useRef<HTMLDivElement>(null);
  const size = useSize(place);
  const { label, unit, values, mark } = series;
  const shownIndex = trend.findIndex(({ key }) => key === shown);
  const value = values.at(shownIndex);
  const told = value === undefined ? "not known" : `${readable(value)} ${unit}`;
  const words = `${label} over ${trend.length} frames, on show ${told}`;
  return (
    <figure className="trend-chart">
      <figcaption>
        {label}
        <span className="trend-last">
          {value === undefined ? "–" : shortNumber(value)}
          <span className="unit">{unit}</span>
        </span>
      </figcaption>
      <div className="trend-plot" ref={place}>
        {size !== undefined && (
          <Lines {...{ size, trend, values, mark, shownIndex, words, onPick }} range={seriesRange(series)} />
        )}
      </div>
    </figure>
  );
}

function Lines({
  size,
  trend,
  values,
  mark,
  shownIndex,
  words,
  range,
  onPick,
}: {
  readonly size: { readonly width: number; readonly height: number };
  readonly trend: readonly TrendPoint[];
  readonly values: TrendSeries["values"];
  readonly mark: number | undefined;
  readonly shownIndex: number;
  readonly words: string;
  readonly range: { readonly low: number; readonly high: number } | undefined;
  readonly onPick: ((key: number) => void) | undefined;
}) {
  const { width, height } = size;
  const count = trend.length;
  const x = useMemo(() => scaleLinear([0, Math.max(1, count - 1)], [EDGE, width - EDGE]), [count, width]);
  const y = useMemo(
    () => scaleLinear([range?.low ?? 0, range?.high ?? 1], [height - EDGE, EDGE]),
    [range?.low, range?.high, height],
  );
  const line = useMemo(() => linePath(values, x, y), [values, x, y]);
  const pick = (event: MouseEvent<SVGSVGElement>) => {
    const index = Math.round(x.invert(event.clientX - event.currentTarget.getBoundingClientRect().left));
    const point = trend[Math.min(count - 1, Math.max(0, index))];
    if (point !== undefined) onPick?.(point.key);
  };
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: the list of runs chooses the same frames by key
    <svg width={width} height={height} role="img" aria-label={words} onClick={onPick && pick}>
      {mark !== undefined && <line className="trend-mark" x1={0} x2={width} y1={y(mark)} y2={y(mark)} />}
      {shownIndex >= 0 && <line className="trend-shown" x1={x(shownIndex)} x2={x(shownIndex)} y1={0} y2={height} />}
      <path className="trend-line" d={line} />
      {count <= MOST_MARKS &&
        trend.map(({ key, name, verdict }, i) => {
          const value = values[i];
          return value === undefined ? null : (
            <VerdictMark key={key} verdict={verdict} x={x(i)} y={y(value)} words={`${name}: ${readable(value)}`} />
          );
        })}
    </svg>
  );
}

/** The state of a frame by shape: filled, half, broken, dotted. */
function VerdictMark({
  verdict,
  x,
  y,
  words,
}: {
  readonly verdict: BeamStopVerdict | undefined;
  readonly x: number;
  readonly y: number;
  readonly words: string;
}) {
  return (
    <g className={`trend-point ${verdict ?? "cannot-tell"}`} transform={`translate(${x} ${y})`}>
      <title>{verdict === undefined ? words : `${words}, ${verdictWord(verdict)}`}</title>
      <circle r="3.5" />
      {verdict === "marginal" && <path d="M0 -3.5A3.5 3.5 0 0 1 0 3.5Z" />}
    </g>
  );
}

/** Values that are not known break the line. */
function linePath(values: TrendSeries["values"], x: (index: number) => number, y: (value: number) => number): string {
  let path = "";
  let isBroken = true;
  for (const [i, value] of values.entries()) {
    if (value === undefined) isBroken = true;
    else {
      path += `${isBroken ? "M" : "L"}${x(i).toFixed(1)} ${y(value).toFixed(1)}`;
      isBroken = false;
    }
  }
  return path;
}

function shortNumber(value: number): string {
  return Math.abs(value) >= 1000 ? readable(Number(value.toPrecision(4))) : String(Number(value.toPrecision(3)));
}
