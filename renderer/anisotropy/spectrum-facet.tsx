import { type MeasurePoint, measurePoints } from "../../core/anisotropy/measure-points.ts";
import type { AxisScale } from "../view-types.ts";
import type { AnisotropyView } from "../worker/anisotropy-view.ts";
import { abscissaDomain } from "./chart-domain.ts";
import { MeasureChart } from "./measure-chart.tsx";

/** Alignment factor and axis against Q. */
export function SpectrumFacet({ answer }: { readonly answer: AnisotropyView }) {
  const points = measurePoints(
    answer.spectrum.map(({ qMin, qMax, measures }) => ({ x: Math.sqrt(qMin * qMax), measures })),
  );
  return <MeasureCharts points={points} xScale="log" xLabel="Q (1/Å)" />;
}

/** Alignment factor above, axis below, over the same abscissa. */
export function MeasureCharts({
  points,
  xScale,
  xLabel,
}: {
  readonly points: { readonly alignment: readonly MeasurePoint[]; readonly axis: readonly MeasurePoint[] };
  readonly xScale: AxisScale;
  readonly xLabel: string;
}) {
  const xDomain = abscissaDomain(
    points.alignment.map(({ x }) => x),
    xScale,
  );
  return (
    <div className="measure-charts">
      <MeasureChart
        points={points.alignment}
        {...{ xDomain, xScale, xLabel }}
        yLabel="Alignment factor"
        empty="Too few unmasked angles, or too little intensity, for an alignment factor."
      />
      <MeasureChart
        points={points.axis}
        {...{ xDomain, xScale, xLabel }}
        yLabel="Axis (°)"
        empty="Nothing is anisotropic here, so there is no axis."
      />
    </div>
  );
}
