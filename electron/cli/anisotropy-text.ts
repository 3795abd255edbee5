import type { AnnulusAnisotropy, CentreFinding } from "../../core/anisotropy/analyse.ts";
import { hasAxis } from "../../core/anisotropy/measures.ts";
import type { SeriesAxis } from "../../core/anisotropy/series.ts";
import { anisotropyVerdict } from "../../core/anisotropy/verdict.ts";
import { readable, withSigma } from "../../core/model/numbers.ts";
import type { AnisotropyAssessment, Sectors } from "../../core/plan/assess-anisotropy.ts";
import type { SeriesEntry } from "../../core/report/anisotropy-outputs.ts";

const DEGREE = Math.PI / 180;
const HEAD = ["", "Q / (1/Å)", "axis / °", "alignment", "P2", "chance if isotropic"];

/** One sample for people: the sentence, the annuli, the spectrum, the centre, and what sectors cost. */
export function assessmentText(file: string, { report, isDefaultAnnulus, sectors }: AnisotropyAssessment): string {
  const spectrum = report.spectrum.filter(({ measures }) => measures !== undefined);
  return [
    `${file}: ${anisotropyVerdict(report).sentence}`,
    "",
    ...(isDefaultAnnulus ? ["  the plan has no annulus: measured in the middle third of the Q range"] : []),
    ...table([HEAD, ...report.annuli.map((annulus) => annulusRow(annulus.id, annulus))]),
    "",
    "  spectrum",
    ...table([HEAD, ...spectrum.map((annulus) => annulusRow("", annulus))]),
    "",
    `  ${centreText(report.centre)}`,
    ...(sectors === undefined ? [] : sectorLines(sectors)),
  ].join("\n");
}

/** The measures of the annuli through a series. */
export function seriesText(entries: readonly SeriesEntry[], axis: SeriesAxis): string {
  const unit = axis.unit === "" ? "" : ` / ${axis.unit}`;
  const rows = entries.flatMap(({ file, report }, i) =>
    report.annuli.map((annulus) => {
      const value = axis.values[i];
      return [file, value === undefined ? "not known" : readable(value), ...annulusRow(annulus.id, annulus)];
    }),
  );
  return table([["file", `${axis.label}${unit}`, "annulus", ...HEAD.slice(1)], ...rows]).join("\n");
}

function annulusRow(name: string, { qMin, qMax, measures }: AnnulusAnisotropy): readonly string[] {
  const range = `${qMin.toPrecision(3)} to ${qMax.toPrecision(3)}`;
  if (measures === undefined) return [name, range, "cannot tell", "", "", ""];
  const { axis, axisSigma, alignment, alignmentSigma, p2, p2Sigma, pIsotropic } = measures;
  return [
    name,
    range,
    hasAxis(measures) ? withSigma(axis / DEGREE, axisSigma / DEGREE) : "none",
    withSigma(alignment, alignmentSigma),
    withSigma(p2, p2Sigma),
    pIsotropic < 1e-6 ? "< 1e-6" : pIsotropic.toPrecision(2),
  ];
}

function centreText(centre: CentreFinding | undefined): string {
  if (centre === undefined) return "beam centre: the odd harmonics do not decide it";
  const { error, corrected } = centre;
  const shift = `${withSigma(error.dx, error.dxSigma)} px in x, ${withSigma(error.dy, error.dySigma)} px in y`;
  return corrected === undefined
    ? `beam centre: agrees with the odd harmonics, off by ${shift}`
    : `beam centre: off by ${shift}; --json has the measures about the corrected one`;
}

function sectorLines({ axis, axisFrom, halfWidth, costs }: Sectors): readonly string[] {
  const from = axisFrom === "field" ? "the field given" : "the first annulus";
  return [
    `  sectors along and across ${readable(axis / DEGREE)}° (${from}), half-width ${readable(halfWidth / DEGREE)}°`,
    ...table([
      ["half-width / °", "share of the counts", "part of the difference kept", "sigma over the least"],
      ...costs.map((cost) =>
        [cost.halfWidth / DEGREE, cost.countsShare, cost.dilution, cost.relativeSigma].map((value) =>
          value.toPrecision(3),
        ),
      ),
    ]),
  ];
}

/** Rows with their columns below each other. */
function table(rows: readonly (readonly string[])[]): readonly string[] {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => (row[column] ?? "").length)));
  return rows.map((row) => `  ${row.map((cell, i) => cell.padEnd(widths[i] ?? 0)).join("  ")}`.trimEnd());
}
