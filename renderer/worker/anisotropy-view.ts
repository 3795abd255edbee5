import type { AnnulusAnisotropy } from "../../core/anisotropy/analyse.ts";
import { fitLine } from "../../core/anisotropy/fit-line.ts";
import type { AnisotropyMeasures } from "../../core/anisotropy/measures.ts";
import { type AnisotropyVerdict, anisotropyVerdict } from "../../core/anisotropy/verdict.ts";
import type { IntensityUnit, Profile } from "../../core/model/curve.ts";
import type { RunMetadata } from "../../core/model/metadata.ts";
import type { AnisotropyAssessment, Sectors } from "../../core/plan/assess-anisotropy.ts";

export type PlainMeasures = Omit<AnisotropyMeasures, "fit">;

export interface AnnulusMeasures {
  readonly id: string;
  /** 1/angstrom */
  readonly qMin: number;
  readonly qMax: number;
  readonly measures: PlainMeasures | undefined;
}

/** What the harmonics of an annulus say, with the sentence that they answer the question by. */
export interface AnnulusAnswer extends AnnulusMeasures {
  readonly verdict: AnisotropyVerdict;
  /** I(phi) of the fitted harmonics, for a line. */
  readonly line: Profile | undefined;
}

/** The anisotropy of one reduction, without what stays in the worker. */
export interface AnisotropyView {
  readonly annuli: readonly AnnulusAnswer[];
  readonly spectrum: readonly AnnulusMeasures[];
  /** What the odd harmonics say of the beam centre; px of the array. */
  readonly centre:
    | {
        readonly dx: number;
        readonly dy: number;
        readonly dxSigma: number;
        readonly dySigma: number;
        /** The given centre is disproved. */
        readonly isOff: boolean;
      }
    | undefined;
  /** Curves along and across the axis; undefined: there is none. */
  readonly sectors: Sectors | undefined;
}

/** One sample of a series. */
export interface SeriesSampleView {
  readonly file: string;
  readonly metadata: RunMetadata;
  readonly annuli: readonly AnnulusAnswer[];
}

export function anisotropyView(
  { report, sectors }: Pick<AnisotropyAssessment, "report" | "sectors">,
  unit: IntensityUnit,
): AnisotropyView {
  const { centre } = report;
  return {
    annuli: report.annuli.map((annulus) => ({
      ...plainMeasures(annulus),
      verdict: anisotropyVerdict(report, annulus),
      line: fitProfile(annulus, unit),
    })),
    spectrum: report.spectrum.map(plainMeasures),
    centre: centre && {
      dx: centre.error.dx,
      dy: centre.error.dy,
      dxSigma: centre.error.dxSigma,
      dySigma: centre.error.dySigma,
      isOff: centre.corrected !== undefined,
    },
    sectors,
  };
}

function plainMeasures({ id, qMin, qMax, measures }: AnnulusAnisotropy): AnnulusMeasures {
  if (measures === undefined) return { id, qMin, qMax, measures };
  const { fit: _fit, ...plain } = measures;
  return { id, qMin, qMax, measures: plain };
}

/** The fit as a profile without errors: what a plot of profiles can draw as a line. */
function fitProfile(annulus: AnnulusAnisotropy, unit: IntensityUnit): Profile | undefined {
  const line = fitLine(annulus);
  if (line === undefined) return undefined;
  const { id, qMin, qMax } = annulus;
  const nothing = new Float64Array(line.phi.length);
  return {
    kind: "annulus",
    id,
    unit,
    qMin,
    qMax,
    phi: line.phi,
    intensity: line.intensity,
    sigma: nothing,
    pixels: nothing,
    counts: nothing,
    norm: nothing,
    scatterSigma: nothing,
    chi2: nothing,
    zeroCounts: new Uint8Array(nothing.length),
    bin: Int32Array.from(nothing, (_, i) => i),
  };
}
