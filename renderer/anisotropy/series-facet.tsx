import { Download } from "lucide-react";
import { useEffect, useState } from "react";
import { measurePoints } from "../../core/anisotropy/measure-points.ts";
import { hasAxis } from "../../core/anisotropy/measures.ts";
import type { SeriesAxis } from "../../core/anisotropy/series.ts";
import { describeFault } from "../../core/model/result.ts";
import { sampleReferences } from "../../core/plan/inputs.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Quantity } from "../app/parts/quantity.tsx";
import { TextBox } from "../app/parts/text-box.tsx";
import type { SeriesSampleView } from "../worker/anisotropy-view.ts";
import type { Answer } from "../worker/protocol.ts";
import { axisTitle, chosenAxis, seriesOptions } from "./chosen-series.ts";
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
  const { document } = useApplication();
  const from = useDocument(({ view }) => view.seriesFrom);
  const typed = useDocument(({ view }) => view.seriesValues);
  const label = useDocument(({ view }) => view.seriesLabel);
  const { show } = document.getState();
  const options = seriesOptions(samples);
  const chosen = chosenAxis(samples, { from, typed, label });
  const saveSeries = useSeriesSaving();
  return (
    <>
      <div className="series-choice">
        <Pick
          label="Values of the series"
          value={from}
          options={options.some(({ value }) => value === from) ? options : [...options, { value: from, label: from }]}
          onPick={(seriesFrom) => show({ seriesFrom })}
          narrow
        />
        {from !== "order" && (
          <TextBox
            label="Called"
            fullLabel="What the values are"
            placeholder={"axis" in chosen && label === "" ? axisTitle(chosen.axis) : "Shear rate (1/s)"}
            value={label}
            onChange={(seriesLabel) => show({ seriesLabel })}
          />
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
      {"problem" in chosen && <p className="series-problem">{chosen.problem}</p>}
      <SeriesResult
        samples={samples}
        axis={"axis" in chosen ? chosen.axis : { label: label === "" ? "Value" : label, unit: "", values: [] }}
        onType={
          from === "order"
            ? undefined
            : (file, value) => {
                const { [file]: _old, ...others } = typed;
                show({ seriesValues: value === undefined ? others : { ...others, [file]: value } });
              }
        }
      />
    </>
  );
}

function SeriesResult({
  samples,
  axis,
  onType,
}: {
  readonly samples: readonly SeriesSampleView[];
  readonly axis: SeriesAxis;
  /** Undefined: the values can't be typed. A value of undefined: as the source says. */
  readonly onType: ((file: string, value: number | undefined) => void) | undefined;
}) {
  const rows = samples.map(({ file, annuli }, i) => ({ file, annulus: annuli[0], value: axis.values[i] }));
  const points = measurePoints(
    rows.flatMap(({ annulus, value }) =>
      annulus === undefined || value === undefined ? [] : [{ x: value, measures: annulus.measures }],
    ),
  );
  const title = axisTitle(axis);
  return (
    <>
      {axis.values.some((value) => value !== undefined) && (
        <MeasureCharts points={points} xScale="linear" xLabel={title} />
      )}
      <table className="measures-table series-table">
        <thead>
          <tr>
            <th scope="col">Sample</th>
            <th scope="col">{title}</th>
            <th scope="col">Axis (°)</th>
            <th scope="col">Alignment factor</th>
            <th scope="col">P2</th>
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
                <td className="number">
                  {onType === undefined ? (
                    (value?.toString() ?? "not known")
                  ) : (
                    <NumberBox
                      label={title}
                      fullLabel={`${title} of ${file}`}
                      hideLabel
                      value={value}
                      placeholder="type it"
                      onChange={(next) => onType(file, next)}
                      onClear={() => onType(file, undefined)}
                    />
                  )}
                </td>
                <td className="number">
                  <Quantity value={known && known.axis / DEGREE} sigma={known && known.axisSigma / DEGREE} />
                </td>
                <td className="number">
                  <Quantity value={measures?.alignment} sigma={measures?.alignmentSigma} />
                </td>
                <td className="number">
                  <Quantity value={measures?.p2} sigma={measures?.p2Sigma} />
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}
