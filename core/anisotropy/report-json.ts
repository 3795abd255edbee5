import type { AnisotropyReport, AnnulusAnisotropy } from "./analyse.ts";

const DEGREE = Math.PI / 180;

/** The report as people and files see it: degrees, units in the names, null where nothing can be given. */
export function anisotropyJson(report: AnisotropyReport): object {
  return { annuli: report.annuli.map(annulusJson), spectrum: report.spectrum.map(annulusJson) };
}

function annulusJson({ id, qMin, qMax, measures }: AnnulusAnisotropy): object {
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
      reason: "the unmasked pixels do not cover enough angles",
    };
  const { maierSaupe, sineSquared } = measures;
  return {
    ...place,
    pixels: measures.pixels,
    axis_deg: measures.axis / DEGREE,
    axis_deg_sigma: measures.axisSigma / DEGREE,
    alignment: measures.alignment,
    alignment_sigma: measures.alignmentSigma,
    p2: measures.p2,
    p2_sigma: measures.p2Sigma,
    p2Rods: measures.p2Rods ?? null,
    maierSaupeRods: maierSaupe.rods ?? null,
    maierSaupePattern: maierSaupe.pattern ?? null,
    sineSquared: { a: sineSquared.a, a_sigma: sineSquared.aSigma, b: sineSquared.b, b_sigma: sineSquared.bSigma },
    pIsotropic: measures.pIsotropic,
    pCentred: measures.pCentred,
    harmonics: measures.harmonics.map(({ order, amplitude, amplitudeSigma, phase }) => ({
      order,
      amplitude,
      amplitude_sigma: amplitudeSigma,
      phase_deg: phase / DEGREE,
    })),
  };
}
