import { scaleLinear } from "d3-scale";
import { useRef } from "react";
import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import { useSize } from "../interaction/use-size.ts";
import { rimBars } from "./rim-profile.ts";

const EDGE = 4;
/** Room for the numbers of the two axes, CSS px. */
const FOOT = 14;
const LEFT = 30;
/** The band of chance, in sigma. */
const BAND = 3;
const FULL_TURN = 360;
const QUARTERS = [0, 90, 180, 270, 360];

/** The rim of the stop unrolled: counts over what the halo lets expect, by azimuth as displayed. */
export function RimChart({ leak }: { readonly leak: BeamStopReport["leak"] | undefined }) {
  const place = useRef<HTMLDivElement>(null);
  const size = useSize(place);
  return (
    <figure className="trend-chart rim-chart">
      <figcaption>
        Rim, counts over expected
        <span className="trend-last">{leak ? excessInWords(leak.significance) : "–"}</span>
      </figcaption>
      <div className="trend-plot" ref={place}>
        {size !== undefined && leak && <Bars size={size} leak={leak} />}
        {leak === null && <p className="trend-empty">The rim could not be looked at</p>}
      </div>
    </figure>
  );
}

/** The chance is corrected for the number of segments: at or below 0 sigma none of them stands out at all. */
function excessInWords(significance: number): string {
  return significance > 0 ? `${significance.toFixed(1)} σ` : "no excess";
}

function Bars({
  size: { width, height },
  leak,
}: {
  readonly size: { readonly width: number; readonly height: number };
  readonly leak: NonNullable<BeamStopReport["leak"]>;
}) {
  const bars = rimBars(leak);
  const highest = Math.max(1.5, ...bars.map(({ ratio, sigma }) => Math.max(ratio, 1 + BAND * sigma)));
  const x = scaleLinear([0, FULL_TURN], [LEFT, width - EDGE]);
  const y = scaleLinear([0, highest * 1.05], [height - FOOT, EDGE]);
  const half = (x(FULL_TURN / Math.max(1, leak.segments.length)) - x(0)) / 2;
  const words = `Counts around the rim over what the halo lets expect, ${bars.length} segments, strongest: ${excessInWords(leak.significance)}`;
  return (
    <svg width={width} height={height} role="img" aria-label={words}>
      {bars.map(({ azimuth, sigma }) => (
        <rect
          key={azimuth}
          className="rim-band"
          x={x(azimuth) - half}
          width={2 * half}
          y={y(1 + BAND * sigma)}
          height={Math.max(0, y(Math.max(0, 1 - BAND * sigma)) - y(1 + BAND * sigma))}
        />
      ))}
      <line className="trend-mark" x1={LEFT} x2={width - EDGE} y1={y(1)} y2={y(1)} />
      {bars.map(({ azimuth, ratio, significance, counts, expected }) => (
        <line
          key={azimuth}
          className={significance > BAND ? "rim-value out" : "rim-value"}
          x1={x(azimuth) - half + 1}
          x2={x(azimuth) + half - 1}
          y1={y(ratio)}
          y2={y(ratio)}
        >
          <title>
            {`${azimuth.toFixed(0)}°: ${counts} counts, ${expected.toFixed(1)} expected, ${significance.toFixed(1)} sigma`}
          </title>
        </line>
      ))}
      {[0, 1].concat(highest > 2 ? [Math.floor(highest)] : []).map((value) => (
        <text key={value} className="trend-tick" x={LEFT - 4} y={y(value)} textAnchor="end" dominantBaseline="middle">
          {value}
        </text>
      ))}
      {QUARTERS.map((degrees) => (
        <text
          key={degrees}
          className="trend-tick"
          x={x(degrees)}
          y={height - 2}
          textAnchor={degrees === 0 ? "start" : degrees === FULL_TURN ? "end" : "middle"}
        >
          {degrees}°
        </text>
      ))}
    </svg>
  );
}
