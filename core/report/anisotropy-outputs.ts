import type { SectorCost } from "../anisotropy/along-across.ts";
import type { AnisotropyReport } from "../anisotropy/analyse.ts";
import { type QxQyGrid, qxQyGrid } from "../anisotropy/qxqy-grid.ts";
import { anisotropyJson, annulusJson } from "../anisotropy/report-json.ts";
import { residualParts } from "../anisotropy/residual-parts.ts";
import type { SeriesAxis } from "../anisotropy/series.ts";
import { anisotropyVerdict } from "../anisotropy/verdict.ts";
import type { AnisotropyAssessment, Sectors } from "../plan/assess-anisotropy.ts";
import type { Reduction } from "../plan/reduction.ts";
import {
  profileFitFigure,
  residualFigure,
  sectorFigures,
  seriesFigures,
  spectrumFigures,
} from "./anisotropy-figures.ts";
import { columnsCsv, seriesCsv, spectrumCsv, type TabledSample } from "./anisotropy-table.ts";
import { figureFiles } from "./figure-files.ts";
import { npyBytes } from "./npy.ts";
import { gridTree } from "./nxcansas.ts";
import type { OutputFile } from "./output-file.ts";
import type { OutputServices } from "./output-services.ts";
import type { ReductionFigure } from "./reduction-figures.ts";
import { utf8 } from "./text.ts";

const DEGREE = Math.PI / 180;
/** What the command and the window say of one sample: the contract's annuli and spectrum, and more beside them. */
export function assessmentJson(
  assessment: AnisotropyAssessment,
  reduction: Pick<Reduction, "sampleFile" | "title" | "unit" | "warnings">,
): Readonly<Record<string, unknown>> {
  const { sampleFile, title, unit, warnings } = reduction;
  return {
    sample: sampleFile,
    title,
    intensityUnit: unit,
    ...anisotropyJson(assessment.report),
    annulusIsDefault: assessment.isDefaultAnnulus,
    sectors: assessment.sectors === undefined ? null : sectorsJson(assessment.sectors),
    warnings,
  };
}

function sectorsJson({ axis, axisFrom, cost, costs }: Sectors): object {
  return {
    axis_deg: axis / DEGREE,
    axisFrom,
    ...costJson(cost),
    costs: costs.map(costJson),
  };
}

function costJson({ halfWidth, countsShare, dilution, relativeSigma }: SectorCost) {
  return { halfWidth_deg: halfWidth / DEGREE, countsShare, dilution, relativeSigma };
}

/** A sample of a series with all that was measured. */
export interface SeriesEntry {
  readonly file: string;
  readonly report: AnisotropyReport;
}

/** A series: one entry a sample, with its value on the series' axis (null: it has none) and the measures of its annuli. */
export function seriesJson(entries: readonly SeriesEntry[], axis: SeriesAxis): object {
  return {
    seriesAxis: { label: axis.label, unit: axis.unit },
    series: entries.map(({ file, report }, i) => ({
      file,
      value: axis.values[i] ?? null,
      ...anisotropyVerdict(report),
      annuli: report.annuli.map(annulusJson),
    })),
  };
}

/** Files of one sample: spectrum, sectors, residual frame, grid of Qx and Qy, figures. The JSON is the caller's. */
export async function assessmentFiles(
  assessment: AnisotropyAssessment,
  reduction: Reduction,
  services: OutputServices,
  signal: AbortSignal,
): Promise<readonly OutputFile[]> {
  const { writeHdf5 } = services;
  if (writeHdf5 === undefined) throw new TypeError("NXcanSAS needs the service writeHdf5");
  const { report, sectors } = assessment;
  const grid = qxQyGrid(reduction);
  const residual = residualParts(reduction);
  const profileOf = (id: string) => reduction.profiles.find((profile) => profile.id === id);
  const figures: ReductionFigure[] = [
    ...report.annuli.flatMap((annulus) => {
      const profile = profileOf(annulus.id);
      return profile === undefined ? [] : [profileFitFigure(annulus, profile, reduction)];
    }),
    ...spectrumFigures(report, reduction),
    ...(sectors === undefined ? [] : sectorFigures(sectors, reduction)),
    residualFigure(residual.whole, { name: "residual", words: "Residual" }, reduction),
    residualFigure(residual.even, { name: "residual-even", words: "Even residual" }, reduction),
    residualFigure(residual.odd, { name: "residual-odd", words: "Odd residual" }, reduction),
  ];
  signal.throwIfAborted();
  return [
    { path: "spectrum.csv", bytes: utf8(spectrumCsv(report)) },
    ...(sectors === undefined ? [] : [{ path: "sectors.csv", bytes: utf8(sectorsCsv(sectors)) }]),
    { path: "residual.npy", bytes: npyBytes(residual.whole, reduction.geometry) },
    { path: "residual-even.npy", bytes: npyBytes(residual.even, reduction.geometry) },
    { path: "residual-odd.npy", bytes: npyBytes(residual.odd, reduction.geometry) },
    ...gridFiles(grid),
    { path: "qxqy.h5", bytes: await writeHdf5(gridTree(reduction, grid)) },
    ...(await figureFiles(figures, services, signal)),
  ];
}

/** Files of a series of several samples. */
export async function seriesFiles(
  entries: readonly SeriesEntry[],
  { axis, title }: { readonly axis: SeriesAxis; readonly title: string },
  services: OutputServices,
  signal: AbortSignal,
): Promise<readonly OutputFile[]> {
  const samples: TabledSample[] = entries.map(({ file, report }) => ({ file, annuli: report.annuli }));
  return [
    { path: "series.csv", bytes: utf8(seriesCsv(samples, axis)) },
    ...(await figureFiles(seriesFigures(samples, axis, title), services, signal)),
  ];
}

function sectorsCsv({ comparison }: Sectors): string {
  const { q, ratio, ratioSigma, a, aSigma, b, bSigma } = comparison;
  return columnsCsv({ Q: q, ratio, dRatio: ratioSigma, A: a, dA: aSigma, B: b, dB: bSigma });
}

function gridFiles(grid: QxQyGrid): OutputFile[] {
  const { width, height } = grid;
  return [
    { path: "qxqy-intensity.npy", bytes: npyBytes(grid.intensity, grid) },
    { path: "qxqy-sigma.npy", bytes: npyBytes(grid.sigma, grid) },
    { path: "qxqy-counts.npy", bytes: npyBytes(grid.counts, grid) },
    { path: "qxqy-qx.npy", bytes: npyBytes(grid.qx, { width, height: 1 }) },
    { path: "qxqy-qy.npy", bytes: npyBytes(grid.qy, { width: height, height: 1 }) },
  ];
}
