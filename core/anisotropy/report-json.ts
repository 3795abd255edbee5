import type { AnisotropyReport, AnnulusAnisotropy, CentreFinding } from "./analyse.ts";
import { hasAxis, type MeasuredStrength } from "./measures.ts";
import type { SineSquared } from "./sine-squared.ts";
import { anisotropyVerdict, isotropicAbove } from "./verdict.ts";

const DEGREE = Math.PI / 180;

/** The report as people and files see it: degrees, units in the names, null where nothing can be given. */
export function anisotropyJson(report: AnisotropyReport): Readonly<Record<string, unknown>> {
  const { verdict, sentence } = anisotropyVerdict(report);
  return {
    verdict,
    sentence,
    isotropicAbove_1A: isotropicAbove(report) ?? null,
    annuli: report.annuli.map(annulusJson),
    spectrum: report.spectrum.map(annulusJson),
    centre: centreJson(report.centre),
  };
}

export function annulusJson({ id, qMin, qMax, measures }: AnnulusAnisotropy): object {
  const place = { id, qMin_1A: qMin, qMax_1A: qMax };
  if (measures === undefined)
    return {
      ...place,
      axis_deg: null,
      axis_deg_sigma: null,
      alignment: null,
      alignment_sigma: null,
      p2: null,
      p2_sigma: null,
      pIsotropic: null,
      harmonics: [],
      reason: "the unmasked pixels cover too few angles, or show too little intensity",
    };
  const { maierSaupe, sineSquared } = measures;
  return {
    ...place,
    pixels: measures.pixels,
    axis_deg: hasAxis(measures) ? measures.axis / DEGREE : null,
    axis_deg_sigma: hasAxis(measures) ? measures.axisSigma / DEGREE : null,
    alignment: measures.alignment,
    alignment_sigma: measures.alignmentSigma,
    p2: measures.p2,
    p2_sigma: measures.p2Sigma,
    ...withSigma("p2Rods", measures.p2Rods),
    ...withSigma("maierSaupeRods", maierSaupe.rods),
    ...withSigma("maierSaupePattern", maierSaupe.pattern),
    sineSquared: sineSquared === undefined ? null : sineSquaredJson(sineSquared),
    pIsotropic: measures.pIsotropic,
    isotropyScore: measures.isotropyScore,
    likelihoodRatio: measures.likelihoodRatio,
    goodness: measures.goodness,
    pCentred: measures.pCentred,
    harmonics: measures.harmonics.map(({ order, amplitude, amplitudeSigma, phase }) => ({
      order,
      amplitude,
      amplitude_sigma: amplitudeSigma,
      phase_deg: phase / DEGREE,
    })),
  };
}

function withSigma(name: string, measured: MeasuredStrength | undefined): object {
  return { [name]: measured?.value ?? null, [`${name}_sigma`]: measured?.sigma ?? null };
}

function sineSquaredJson(law: SineSquared): object {
  return {
    a: law.a,
    a_sigma: law.aSigma,
    b: law.b,
    b_sigma: law.bSigma,
    covarianceAB: law.covarianceAB,
    direction_deg: law.direction / DEGREE,
    direction_deg_sigma: law.directionSigma === undefined ? null : law.directionSigma / DEGREE,
    directionGiven: law.directionSigma === undefined,
    chi2: law.chi2,
    degreesOfFreedom: law.degreesOfFreedom,
  };
}

function centreJson(centre: CentreFinding | undefined): object | null {
  if (centre === undefined) return null;
  const { error, corrected } = centre;
  return {
    offset_px: [error.dx, error.dy],
    offset_px_sigma: [error.dxSigma, error.dySigma],
    isOff: corrected !== undefined,
    shift: error.shift,
    agreement: error.agreement ?? null,
    aboutCorrected:
      corrected === undefined
        ? null
        : { annuli: corrected.annuli.map(annulusJson), spectrum: corrected.spectrum.map(annulusJson) },
  };
}
