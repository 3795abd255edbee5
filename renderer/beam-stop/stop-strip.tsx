import { useMemo } from "react";
import { useApplication, useBeamStop, useDocument, useResults } from "../app/application.ts";
import { RimChart } from "./rim-chart.tsx";
import { trendSeries } from "./trend.ts";
import { TrendChart } from "./trend-chart.tsx";
import { changeInWords } from "./verdict-change.ts";
import { WatchBar } from "./watch-bar.tsx";

/** Below image and curve while the beam-stop question is on show: the watch, the rim, and the trend over the run. */
export function StopStrip() {
  const isShown = useDocument(({ view }) => view.question === "beam-stop");
  const hasDocument = useDocument(({ history }) => history !== undefined);
  if (!isShown) return null;
  return (
    <section className="stop-strip" aria-label="Beam stop during the run">
      <div className="stop-strip-head">
        <WatchBar />
        <Change />
      </div>
      {hasDocument && <Charts />}
    </section>
  );
}

/** A change of verdict, said to those who don't look. */
function Change() {
  const change = useBeamStop((state) => state.change);
  return (
    <p className="verdict-change" role="alert">
      {change === undefined ? "" : changeInWords(change)}
    </p>
  );
}

function Charts() {
  const { document, beamStop } = useApplication();
  const leak = useResults(({ stop }) => stop?.leak);
  const trend = useBeamStop((state) => state.trend);
  const isWatch = useBeamStop(({ watch, watched }) => watch !== undefined || watched !== undefined);
  const sampleIndex = useDocument(({ view }) => view.sampleIndex);
  const limits = useDocument(({ view }) => view.stopLimits);
  const series = useMemo(() => trendSeries(trend, limits), [trend, limits]);
  const pick = (key: number) => {
    if (beamStop.store.getState().watched === undefined) document.getState().show({ sampleIndex: key });
  };
  return (
    <div className="stop-charts">
      <RimChart leak={leak} />
      {trend.length === 0 ? (
        <p className="trend-empty">
          The trend begins with the second frame: watch a folder, or open a plan with several samples.
        </p>
      ) : (
        series.map((one) => (
          <TrendChart
            key={one.label}
            trend={trend}
            series={one}
            shown={isWatch ? trend.at(-1)?.key : sampleIndex}
            onPick={isWatch ? undefined : pick}
          />
        ))
      )}
    </div>
  );
}
