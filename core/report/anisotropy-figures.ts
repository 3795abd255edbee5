import type { AlongAcross } from "../anisotropy/along-across.ts";
import type { AnisotropyReport, AnnulusAnisotropy } from "../anisotropy/analyse.ts";
import { fitLine } from "../anisotropy/fit-line.ts";
import { type MeasurePoint, measurePoints } from "../anisotropy/measure-points.ts";
import type { SeriesAxis } from "../anisotropy/series.ts";
import type { Profile } from "../model/curve.ts";
import { azimuthDegrees } from "../model/numbers.ts";
import type { Reduction } from "../plan/reduction.ts";
import type { TabledAnnulus, TabledSample } from "./anisotropy-table.ts";
import type { AxisSpec } from "./figures/axis.ts";
import { curveFigure } from "./figures/curve-figure.ts";
import { frameFigure } from "./figures/frame-figure.ts";
import { type PointSeries, pointFigure } from "./figures/point-figure.ts";
import type { ReductionFigure } from "./reduction-figures.ts";

const DEGREE = Math.PI / 180;
const AZIMUTH: AxisSpec = {
  label: "Azimuth",
  unit: "°",
  scale: "linear",
  fixed: { low: 0, high: 360, ticks: [0, 45, 90, 135, 180, 225, 270, 315, 360] },
};
/** Sigmas; what lies beyond has the last colour. */
const RESIDUAL_END = 5;

/** I(phi) of an annulus with its harmonics. */
export function profileFitFigure(annulus: AnnulusAnisotropy, profile: Profile, reduction: Reduction): ReductionFigure {
  const { phi, intensity, sigma } = profile;
  const points: PointSeries = {
    label: annulus.id,
    x: phi.map(azimuthDegrees),
    y: intensity,
    low: intensity.map((value, b) => value - sigma[b]!),
    high: intensity.map((value, b) => value + sigma[b]!),
  };
  const line = fitLine(annulus);
  const fit: PointSeries[] =
    line === undefined
      ? []
      : [
          {
            label: "Even harmonics",
            x: line.phi.map((angle) => angle / DEGREE),
            y: line.intensity,
            low: line.intensity,
            high: line.intensity,
            line: true,
          },
        ];
  return {
    name: `profile-${annulus.id}`,
    caption: `${annulus.id}: intensity against azimuth with its even harmonics; bars are one standard deviation`,
    svg: pointFigure({
      title: `${reduction.title}, ${annulus.id}`,
      series: [points, ...fit],
      xAxis: AZIMUTH,
      yAxis: { label: "I", unit: reduction.unit, scale: "linear" },
      notes: [`Run: ${reduction.sampleFile}`],
    }),
  };
}

/** Alignment factor and axis against Q. */
export function spectrumFigures(
  report: AnisotropyReport,
  { title, sampleFile }: Pick<Reduction, "title" | "sampleFile">,
) {
  const q: AxisSpec = { label: "Q", unit: "1/Å", scale: "log" };
  const place = ({ qMin, qMax }: AnnulusAnisotropy) => Math.sqrt(qMin * qMax);
  return measureFigures(
    report.spectrum.map((annulus) => ({ x: place(annulus), annulus })),
    {
      name: "spectrum",
      title,
      xAxis: q,
      notes: [`Run: ${sampleFile}`],
    },
  );
}

/** Alignment factor and axis of each annulus through a series. */
export function seriesFigures(
  samples: readonly TabledSample[],
  axis: SeriesAxis,
  title: string,
): readonly ReductionFigure[] {
  const xAxis: AxisSpec = { label: axis.label, unit: axis.unit, scale: "linear" };
  const ids = samples[0]?.annuli.map(({ id }) => id) ?? [];
  return ids.flatMap((id) =>
    measureFigures(
      samples.flatMap(({ annuli }, i) => {
        const annulus = annuli.find((one) => one.id === id);
        const x = axis.values[i];
        return annulus === undefined || x === undefined ? [] : [{ x, annulus }];
      }),
      { name: `series-${id}`, title: `${title}, ${id}`, xAxis, notes: [] },
    ),
  );
}

function measureFigures(
  points: readonly { readonly x: number; readonly annulus: TabledAnnulus }[],
  {
    name,
    title,
    xAxis,
    notes,
  }: { readonly name: string; readonly title: string; readonly xAxis: AxisSpec; readonly notes: readonly string[] },
): readonly ReductionFigure[] {
  const { alignment, axis } = measurePoints(points.map(({ x, annulus }) => ({ x, measures: annulus.measures })));
  const figure = (
    kind: string,
    yAxis: AxisSpec,
    rows: readonly MeasurePoint[],
    extra: readonly string[],
  ): ReductionFigure => ({
    name: `${name}-${kind}`,
    caption: `${yAxis.label} against ${xAxis.label}; bars are one standard deviation`,
    svg: pointFigure({
      title: `${yAxis.label}: ${title}`,
      series: [
        {
          label: yAxis.label,
          x: Float64Array.from(rows, (row) => row.x),
          y: Float64Array.from(rows, (row) => row.y),
          low: Float64Array.from(rows, (row) => row.y - row.sigma),
          high: Float64Array.from(rows, (row) => row.y + row.sigma),
        },
      ],
      xAxis,
      yAxis,
      notes: [...notes, ...extra],
    }),
  });
  return [
    figure("alignment", { label: "Alignment factor", unit: "", scale: "linear" }, alignment, []),
    figure("axis", { label: "Axis", unit: "°", scale: "linear" }, axis, [
      "Where nothing is anisotropic there is no axis, and no point",
    ]),
  ];
}

/** Curves along and across the axis, and their ratio. */
export function sectorFigures(
  { along, across, comparison }: AlongAcross,
  { title, sampleFile, unit }: Pick<Reduction, "title" | "sampleFile" | "unit">,
): readonly ReductionFigure[] {
  const notes = [`Run: ${sampleFile}`];
  const { q, ratio, ratioSigma } = comparison;
  return [
    {
      name: "sectors",
      caption: "Intensity along and across the axis; bars are one standard deviation",
      svg: curveFigure({
        title,
        series: [
          { label: "Along the axis", curve: along },
          { label: "Across the axis", curve: across },
        ],
        unit,
        view: { transform: "i-q", x: "log", y: "log" },
        notes,
      }),
    },
    {
      name: "sectors-ratio",
      caption: "Intensity along over across the axis; bars are one standard deviation",
      svg: pointFigure({
        title: `Along over across: ${title}`,
        series: [
          {
            label: "Ratio",
            x: q,
            y: ratio,
            low: ratio.map((value, i) => value - ratioSigma[i]!),
            high: ratio.map((value, i) => value + ratioSigma[i]!),
          },
        ],
        xAxis: { label: "Q", unit: "1/Å", scale: "log" },
        yAxis: { label: "Along over across", unit: "", scale: "linear" },
        notes,
      }),
    },
  ];
}

/** The residual frame in sigmas, on colours that diverge from 0. */
export function residualFigure(
  residual: Float64Array,
  part: { readonly name: string; readonly words: string },
  { title, sampleFile, geometry, maps }: Pick<Reduction, "title" | "sampleFile" | "geometry" | "maps">,
): ReductionFigure {
  return {
    name: part.name,
    caption: `${part.words}, in standard deviations`,
    svg: frameFigure({
      title: `${part.words}: ${title}`,
      values: residual,
      // Pixels without a mirror image have no value and look like masked ones.
      mask: maps.mask.map((bits, p) => (Number.isFinite(residual[p]!) ? bits : bits | 1)),
      quantity: { label: "Residual", unit: "sigmas" },
      scale: "linear",
      diverging: { low: -RESIDUAL_END, high: RESIDUAL_END },
      geometry,
      notes: [`Run: ${sampleFile}`],
    }),
  };
}
