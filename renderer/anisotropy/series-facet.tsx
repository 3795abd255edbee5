import { Download } from "lucide-react";
import { useEffect, useState } from "react";
import { measurePoints } from "../../core/anisotropy/measure-points.ts";
import { hasAxis } from "../../core/anisotropy/measures.ts";
import type { SeriesAxis } from "../../core/anisotropy/series.ts";
import { readable } from "../../core/model/numbers.ts";
import { describeFault } from "../../core/model/result.ts";
import { sampleReferences } from "../../core/plan/inputs.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Quantity } from "../app/parts/quantity.tsx";
import type { SeriesSampleView } from "../worker/anisotropy-view.ts";
import type { Answer } from "../worker/protocol.ts";
import { axisTitle, chosenAxis, SERIES_LABELS, SERIES_SOURCES, type SeriesChoice } from "./chosen-series.ts";
import { MeasureCharts } from "./spectrum-facet.tsx";
import { useSeriesSaving } from "./use-series-saving.ts";

const DEGREE = Math.PI / 180;

/** The measures of the first annulus through the samples of the plan. */
export function SeriesFacet() {
  const plan = useDocument(({ history }) => history?.present.plan);
  const serial = useResults(({ reduction }) => reduction?.serial);
  const { client } = useApplication();
  const [answer, setAnswer] = useState<Answer<"series">>();
  const [working, setWorking] = useState("");
  const [problem, setProblem] = useState("");
  const count = plan === undefined ? 0 : sampleReferences(plan).length;
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new reduction means that plan or files are others
  useEffect(() => {
    if (plan === undefined || count < 2) return;
    let isWanted = true;
    setProblem("");
    setWorking("Measuring the series");
    const onProgress = ({ label, fraction }: { readonly label: string; readonly fraction?: number }) => {
      if (isWanted) setWorking(`Measuring ${label}, ${Math.round(100 * (fraction ?? 0))} %`);
    };
    void client.ask("series", { plan }, { slot: "series", onProgress }).then((result) => {
      if (!isWanted) return;
      setWorking("");
      if (result.ok) setAnswer(result.value);
      else if (result.fault.code !== "cancelled") setProblem(describeFault(result.fault));
    });
    return () => {
      isWanted = false;
      client.cancel("series");
    };
  }, [client, plan, count, serial]);

  if (count < 2)
    return <p className="measure-empty">A series needs a plan with several samples: add runs with the role sample.</p>;
  return (
    <div className="series-facet">
      {problem !== "" && <p className="series-problem">{problem}</p>}
      {answer?.faults.map((fault) => (
        <p key={fault.file ?? fault.message} className="series-problem">
          {describeFault(fault)}
        </p>
      ))}
      {answer !== undefined && answer.samples.length > 0 && <SeriesView samples={answer.samples} />}
      {working !== "" && (
        <p className="series-working" role="status">
          {working}
        </p>
      )}
    </div>
  );
}

function SeriesView({ samples }: { readonly samples: readonly SeriesSampleView[] }) {
  const [choice, setChoice] = useState<SeriesChoice>("order");
  const [typed, setTyped] = useState({ values: "", label: "" });
  const chosen = chosenAxis(samples, choice, typed);
  const saveSeries = useSeriesSaving();
  return (
    <>
      <div className="series-choice">
        <Pick
          label="Values of the series"
          value={choice}
          options={SERIES_SOURCES.map((value) => ({ value, label: SERIES_LABELS[value] }))}
          onPick={setChoice}
          narrow
        />
        {choice === "typed" && (
          <>
            <input
              className="series-input"
              aria-label="A value for each sample"
              placeholder="0, 30, 300"
              value={typed.values}
              onChange={(event) => setTyped({ ...typed, values: event.target.value })}
            />
            <input
              className="series-input"
              aria-label="What the values are"
              placeholder="Shear rate (1/s)"
              value={typed.label}
              onChange={(event) => setTyped({ ...typed, label: event.target.value })}
            />
          </>
        )}
        <span className="bar-gap" />
        {"axis" in chosen && (
          <IconButton
            icon={Download}
            label="Save the series as CSV and figures"
            onClick={() => void saveSeries(samples, chosen.axis)}
          />
        )}
      </div>
      {"problem" in chosen ? (
        <p className="series-problem">{chosen.problem}</p>
      ) : (
        <SeriesResult samples={samples} axis={chosen.axis} />
      )}
    </>
  );
}

function SeriesResult({ samples, axis }: { readonly samples: readonly SeriesSampleView[]; readonly axis: SeriesAxis }) {
  const rows = samples.map(({ file, annuli }, i) => ({ file, annulus: annuli[0], value: axis.values[i] }));
  const points = measurePoints(
    rows.flatMap(({ annulus, value }) =>
      annulus === undefined || value === undefined ? [] : [{ x: value, measures: annulus.measures }],
    ),
  );
  return (
    <>
      <MeasureCharts points={points} xScale="linear" xLabel={axisTitle(axis)} />
      <table className="measures-table series-table">
        <thead>
          <tr>
            <th scope="col">Sample</th>
            <th scope="col">{axisTitle(axis)}</th>
            <th scope="col">Axis (°)</th>
            <th scope="col">Alignment factor</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ file, annulus, value }) => {
            const measures = annulus?.measures;
            const known = measures !== undefined && hasAxis(measures) ? measures : undefined;
            return (
              <tr key={file}>
                <th scope="row" title={file}>
                  {file}
                </th>
                <td className="number">{value === undefined ? "not known" : readable(value)}</td>
                <td className="number">
                  <Quantity value={known && known.axis / DEGREE} sigma={known && known.axisSigma / DEGREE} />
                </td>
                <td className="number">
                  <Quantity value={measures?.alignment} sigma={measures?.alignmentSigma} />
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}
