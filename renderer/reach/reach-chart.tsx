import { useId, useRef } from "react";
import type { CameraReach } from "../../core/geometry/camera-reach.ts";
import { sizeOfQ } from "../../core/geometry/q-range.ts";
import type { QSpan, Seam } from "../../core/geometry/reach-seams.ts";
import { type Axis, axisOf } from "../curve/ticks.ts";
import { useSize } from "../interaction/use-size.ts";
import { spanOf } from "./reach-settings.ts";
import { factorOf } from "./reach-words.ts";

/** CSS px. */
const ROW = 30;
const BAR = 12;
const AXIS = 34;
const SIDE = 28;
const TICK_ROOM = 56;
/** A seam narrower than this has no room for its words. */
const WORDS_ROOM = 40;

export interface ReachChartProps {
  readonly reaches: readonly CameraReach[];
  readonly seams: readonly Seam[];
  /** Q of the curve on show. */
  readonly data: QSpan | undefined;
  /** The whole in words, for those who don't see it. */
  readonly words: string;
}

/** One bar a setting on a logarithmic axis of Q, with the sizes that belong to it above. */
export function ReachChart(props: ReachChartProps) {
  const host = useRef<HTMLDivElement>(null);
  const size = useSize(host);
  const height = 2 * AXIS + ROW * props.reaches.length;
  return (
    <div className="reach-chart" ref={host} style={{ height }}>
      {size && <Drawing {...props} width={size.width} height={height} />}
    </div>
  );
}

function Drawing({
  reaches,
  seams,
  data,
  words,
  width,
  height,
}: ReachChartProps & { readonly width: number; readonly height: number }) {
  const hatch = useId();
  const domain = domainOf(reaches, data);
  const range = [SIDE, width - SIDE] as const;
  const q = axisOf({ scale: "log", domain, range, room: TICK_ROOM });
  const nanometres = { low: sizeOfQ(domain.high) / 10, high: sizeOfQ(domain.low) / 10 };
  const sizes = axisOf({ scale: "log", domain: nanometres, range: [range[1], range[0]], room: TICK_ROOM });
  const foot = height - AXIS;
  const middle = (row: number) => AXIS + ROW * (row + 0.5);
  const place = (value: number) => q.to(Math.max(value, domain.low));
  return (
    <svg className="reach-drawing" width={width} height={height} role="img" aria-label={words}>
      <defs>
        <pattern id={hatch} width={5} height={5} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line className="reach-hatch" y2={5} />
        </pattern>
      </defs>
      <AxisLine axis={sizes} at={AXIS} side={-1} name="Size 2π/Q, nm" end={range[0]} />
      <AxisLine axis={q} at={foot} side={1} name="Q, 1/Å" end={range[0]} />
      {data !== undefined && (
        <g className="reach-data">
          <rect x={q.to(data.low)} y={AXIS} width={q.to(data.high) - q.to(data.low)} height={foot - AXIS} />
          <line x1={q.to(data.low)} x2={q.to(data.low)} y1={AXIS} y2={foot} />
          <line x1={q.to(data.high)} x2={q.to(data.high)} y1={AXIS} y2={foot} />
        </g>
      )}
      {seams.map((seam) => (
        <SeamMark
          key={`${seam.below}-${seam.above}`}
          seam={seam}
          left={place(seam.low)}
          right={place(seam.high)}
          ends={[middle(seam.below), middle(seam.above)]}
          hatch={hatch}
        />
      ))}
      {reaches.map((reach, row) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: settings have no identity but their place
        <Bar key={row} reach={reach} row={row} place={place} middle={middle(row)} hatch={hatch} />
      ))}
    </svg>
  );
}

/** From a little below the lowest Q to a little above the highest; two decades where nothing bounds the Q from below. */
function domainOf(reaches: readonly CameraReach[], data: QSpan | undefined): QSpan {
  const spans = [...reaches.map((reach) => ({ low: spanOf(reach).low, high: reach.qCorner })), ...(data ? [data] : [])];
  const high = Math.max(...spans.map((span) => span.high));
  const low = Math.min(...spans.map((span) => span.low));
  return { low: (low > 0 ? low : high / 100) / 1.25, high: high * 1.25 };
}

function AxisLine({
  axis,
  at,
  side,
  name,
  end,
}: {
  readonly axis: Axis;
  readonly at: number;
  /** -1: ticks and numbers above the line; 1: below. */
  readonly side: 1 | -1;
  readonly name: string;
  readonly end: number;
}) {
  return (
    <g className="reach-axis">
      {axis.ticks.map(({ value, at: x, label }) => (
        <g key={value} transform={`translate(${x} ${at})`}>
          <line y2={side * (label === "" ? 3 : 5)} />
          <text y={side * 13}>{label}</text>
        </g>
      ))}
      <text className="reach-axis-name" x={end} y={at + side * 27}>
        {name}
      </text>
    </g>
  );
}

function Bar({
  reach,
  row,
  place,
  middle,
  hatch,
}: {
  readonly reach: CameraReach;
  readonly row: number;
  readonly place: (q: number) => number;
  readonly middle: number;
  readonly hatch: string;
}) {
  const { low, high } = spanOf(reach);
  const [left, right, corner] = [place(low), place(high), place(Math.max(reach.qCorner, high))];
  const top = middle - BAR / 2;
  return (
    <g className="reach-bar" style={{ color: `var(--curve-${row % 8})` }}>
      <text className="reach-number" x={SIDE / 2} y={middle}>
        {row + 1}
      </text>
      <rect className="reach-whole" x={left} y={top} width={Math.max(0, right - left)} height={BAR} />
      {corner > right && (
        <>
          <rect className="reach-part" x={right} y={top} width={corner - right} height={BAR} />
          <rect x={right} y={top} width={corner - right} height={BAR} fill={`url(#${hatch})`} />
        </>
      )}
    </g>
  );
}

function SeamMark({
  seam,
  left,
  right,
  ends,
  hatch,
}: {
  readonly seam: Seam;
  readonly left: number;
  readonly right: number;
  readonly ends: readonly [number, number];
  readonly hatch: string;
}) {
  const top = Math.min(...ends);
  const height = Math.abs(ends[1] - ends[0]);
  const width = Math.max(1, right - left);
  return (
    <g className={`reach-seam reach-${seam.kind}`}>
      <rect x={left} y={top} width={width} height={height} />
      {seam.kind === "gap" && <rect x={left} y={top} width={width} height={height} fill={`url(#${hatch})`} />}
      {right - left > WORDS_ROOM && (
        <text x={(left + right) / 2} y={top + height / 2}>
          {seam.kind === "gap" ? "gap" : factorOf(seam)}
        </text>
      )}
    </g>
  );
}
