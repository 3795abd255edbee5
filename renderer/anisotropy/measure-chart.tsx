import { useRef } from "react";
import type { MeasurePoint } from "../../core/anisotropy/measure-points.ts";
import { axisOf } from "../curve/ticks.ts";
import { useSize } from "../interaction/use-size.ts";
import type { AxisScale } from "../view-types.ts";
import { chartDomain } from "./chart-domain.ts";

export interface MeasureChartProps {
  readonly points: readonly MeasurePoint[];
  /** Both charts of a pair run over the same x. */
  readonly xDomain: { readonly low: number; readonly high: number };
  readonly xScale: AxisScale;
  readonly xLabel: string;
  readonly yLabel: string;
  /** What to say where there is no point. */
  readonly empty: string;
}

const EDGE = { left: 64, right: 16, top: 12, bottom: 40 };
const LABEL_ROOM = 72;
const LABEL_HEIGHT = 32;

/** Points with error bars of one standard deviation. */
export function MeasureChart({ points, xDomain, xScale, xLabel, yLabel, empty }: MeasureChartProps) {
  const host = useRef<HTMLDivElement>(null);
  const size = useSize(host);
  return (
    <div ref={host} className="measure-chart">
      {points.length === 0 && <p className="measure-empty">{empty}</p>}
      {points.length > 0 && size && size.width > 160 && size.height > 80 && (
        <ChartDrawing {...{ points, xDomain, xScale, xLabel, yLabel, size }} />
      )}
    </div>
  );
}

function ChartDrawing({
  points,
  xDomain,
  xScale,
  xLabel,
  yLabel,
  size,
}: Omit<MeasureChartProps, "empty"> & { readonly size: { readonly width: number; readonly height: number } }) {
  const [left, right] = [EDGE.left, size.width - EDGE.right];
  const [top, bottom] = [EDGE.top, size.height - EDGE.bottom];
  const x = axisOf({ scale: xScale, domain: xDomain, range: [left, right], room: LABEL_ROOM });
  const y = axisOf({
    scale: "linear",
    domain: chartDomain(points),
    range: [bottom, top],
    room: LABEL_HEIGHT,
  });
  return (
    <svg width={size.width} height={size.height} role="img" aria-label={`${yLabel} against ${xLabel}`}>
      <path className="measure-frame" d={`M${left} ${top}V${bottom}H${right}`} />
      {x.ticks.map((tick) => (
        <g key={tick.value} transform={`translate(${tick.at} ${bottom})`}>
          <path className="measure-frame" d={tick.label === "" ? "M0 0V3" : "M0 0V5"} />
          <text className="measure-number" y={17} textAnchor="middle">
            {tick.label}
          </text>
        </g>
      ))}
      {y.ticks.map((tick) => (
        <g key={tick.value} transform={`translate(${left} ${tick.at})`}>
          <path className="measure-frame" d="M0 0H-5" />
          <text className="measure-number" x={-9} textAnchor="end" dominantBaseline="central">
            {tick.label}
          </text>
        </g>
      ))}
      <text className="measure-label" x={(left + right) / 2} y={size.height - 6} textAnchor="middle">
        {xLabel}
      </text>
      <text className="measure-label" transform={`translate(13 ${(top + bottom) / 2}) rotate(-90)`} textAnchor="middle">
        {yLabel}
      </text>
      {points.map((point) => {
        const at = x.to(point.x);
        // A bar that runs out of the chart ends at its edge.
        const ends = [point.y - point.sigma, point.y + point.sigma].map((end) =>
          Math.min(bottom, Math.max(top, y.to(end))),
        );
        return (
          <g key={`${point.x} ${point.y}`} className="measure-point">
            <title>{`${xLabel} ${Number(point.x.toPrecision(4))}: ${Number(point.y.toPrecision(4))} ± ${Number(point.sigma.toPrecision(2))}`}</title>
            <path d={`M${at} ${ends[0]}V${ends[1]}`} />
            <circle cx={at} cy={y.to(point.y)} r={3} />
          </g>
        );
      })}
    </svg>
  );
}
