import { withSigma } from "../model/numbers.ts";
import type { AnisotropyReport, AnnulusAnisotropy, CentreFinding } from "./analyse.ts";
import { PROOF } from "./proof.ts";

/** The answer to "is the scattering anisotropic?" for one annulus. */
export interface AnisotropyVerdict {
  readonly verdict: "anisotropic" | "isotropic" | "off-centre" | "cannot-tell";
  /** One plain sentence with the numbers that decide it. */
  readonly sentence: string;
}

const DEGREE = Math.PI / 180;

/** The verdict of one annulus of a report, by default its first. */
export function anisotropyVerdict(
  report: AnisotropyReport | undefined,
  annulus: AnnulusAnisotropy | undefined = report?.annuli[0],
): AnisotropyVerdict {
  if (report === undefined || annulus === undefined)
    return { verdict: "cannot-tell", sentence: "Add an annulus to measure anisotropy." };
  const { measures, qMin, qMax, id } = annulus;
  const where = `between Q = ${qMin.toPrecision(2)} and ${qMax.toPrecision(2)} 1/Å`;
  if (measures === undefined)
    return {
      verdict: "cannot-tell",
      sentence: `Cannot tell ${where}: too few unmasked angles, or too little intensity.`,
    };
  const { pIsotropic, pCentred, alignment, alignmentSigma, axis, axisSigma } = measures;
  const off = report.centre?.corrected === undefined ? undefined : report.centre;
  const aboutTrueCentre = off?.corrected?.annuli.find((one) => one.id === id)?.measures;
  if (pIsotropic < PROOF && (off === undefined || (aboutTrueCentre?.pIsotropic ?? 0) < PROOF)) {
    const doubt = off === undefined ? "" : ` The beam centre is off by ${shiftInWords(off)}.`;
    return {
      verdict: "anisotropic",
      sentence: `Anisotropic along ${withSigma(axis / DEGREE, axisSigma / DEGREE)}°, alignment factor ${withSigma(alignment, alignmentSigma)} ${where}${endOfAnisotropy(report)}.${doubt}`,
    };
  }
  if (off !== undefined)
    return {
      verdict: "off-centre",
      sentence: `Not anisotropic ${where}: the beam centre is off by ${shiftInWords(off)}.`,
    };
  if (pCentred < PROOF)
    return {
      verdict: "off-centre",
      sentence: `Not anisotropic, but lopsided ${where}, and no shift of the beam centre explains it: look for a leak or a badly corrected detector.`,
    };
  return {
    verdict: "isotropic",
    sentence: `Isotropic within counting statistics ${where}: alignment factor ${withSigma(alignment, alignmentSigma)}.`,
  };
}

function shiftInWords({ error }: CentreFinding): string {
  return `${withSigma(error.dx, error.dxSigma)} px in x and ${withSigma(error.dy, error.dySigma)} px in y`;
}

function endOfAnisotropy(report: AnisotropyReport): string {
  const q = isotropicAbove(report);
  return q === undefined ? "" : `; isotropic above ${q.toPrecision(2)} 1/Å`;
}

/** The Q above which no annulus of the spectrum is anisotropic; undefined where they are up to the end. */
export function isotropicAbove({ spectrum, centre }: AnisotropyReport): number | undefined {
  const seen = (centre?.corrected?.spectrum ?? spectrum).filter(({ measures }) => measures !== undefined);
  const last = seen.findLastIndex(({ measures }) => measures !== undefined && measures.pIsotropic < PROOF);
  return last >= 0 && last + 1 < seen.length ? seen[last]!.qMax : undefined;
}
