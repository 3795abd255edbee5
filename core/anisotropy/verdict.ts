import { withSigma } from "../report/numbers.ts";
import type { AnnulusAnisotropy } from "./analyse.ts";

/** The answer to "is the scattering anisotropic?" for one annulus. */
export interface AnisotropyVerdict {
  readonly verdict: "anisotropic" | "isotropic" | "off-centre" | "cannot-tell";
  /** One plain sentence with the numbers that decide it. */
  readonly sentence: string;
}

/** A chance below this is taken as proof; common practice, no source. */
const PROOF = 1e-3;
const DEGREE = Math.PI / 180;

export function anisotropyVerdict(annulus: AnnulusAnisotropy | undefined): AnisotropyVerdict {
  if (annulus === undefined) return { verdict: "cannot-tell", sentence: "Add an annulus to measure anisotropy." };
  const { measures, qMin, qMax } = annulus;
  const where = `between Q = ${qMin.toPrecision(2)} and ${qMax.toPrecision(2)} 1/Å`;
  if (measures === undefined)
    return { verdict: "cannot-tell", sentence: `Cannot tell ${where}: too few unmasked angles.` };
  const { pIsotropic, pCentred, alignment, alignmentSigma, axis, axisSigma } = measures;
  if (pIsotropic < PROOF) {
    const doubt = pCentred < PROOF ? " Odd harmonics are present too: check the beam centre." : "";
    return {
      verdict: "anisotropic",
      sentence: `Anisotropic along ${withSigma(axis / DEGREE, axisSigma / DEGREE)}°, alignment factor ${withSigma(alignment, alignmentSigma)} ${where}.${doubt}`,
    };
  }
  if (pCentred < PROOF)
    return { verdict: "off-centre", sentence: `Not anisotropic, but lopsided ${where}: check the beam centre.` };
  return {
    verdict: "isotropic",
    sentence: `Isotropic within counting statistics ${where}: alignment factor ${withSigma(alignment, alignmentSigma)}.`,
  };
}
