import { addMask } from "../model/mask.ts";
import { success } from "../model/result.ts";
import { applied, BEAM_ROLES, type Correction, notApplied, SCATTERING_ROLES } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { multiplyNorm } from "./estimate-parts.ts";

const KEY = "corrections.flood";

/**
 * Sensitivity of each pixel: W *= eta. A pixel whose eta is not known or out of range is masked; the flood's own scatter
 * stays with the pixel (normRelativeVariance) and shrinks in a bin like any other. Sample and cell are divided by the
 * same eta, so it moves what is left of them, once. The few pixels of a direct beam have it too: see absolute.ts.
 */
export const flood: Correction = {
  key: "flood",
  roles: [...SCATTERING_ROLES, ...BEAM_ROLES],
  prepare({ settings, runs, sensitivity }, role) {
    if (settings.flood === "none") return notApplied("flood", `switched off by ${KEY}`);
    const run = runs.flood;
    if (run === undefined) return notApplied("flood", "runs.flood is not given");
    if (sensitivity === undefined) throw new TypeError("the flood was not evaluated");
    const smooth = settings.flood?.smooth_px;
    return success((target) => {
      // A direct beam may fall where the flood has the stop's shadow: there eta is 1, the mean, and the pixel stays,
      // known no better than pixels differ.
      const isBeam = BEAM_ROLES.some((beam) => beam === role);
      if (!isBeam) addMask(target.mask, sensitivity.mask);
      const effect = multiplyNorm(target, sensitivity.eta);
      target.normRelativeVariance = sensitivity.relativeVariance;
      target.normSumRelativeVariance = sensitivity.sumRelativeVariance;
      if (isBeam) target.unknownNorm = { pixels: sensitivity.mask, relativeVariance: sensitivity.spread };
      const { goodPixels, outOfRange, parameters, sources, warnings } = sensitivity;
      return {
        ...applied(
          "flood",
          {
            file: run.file,
            smooth_px: smooth ?? CORRECTION_DEFAULTS.floodSmooth_px,
            goodPixels,
            outOfRange,
            ...parameters,
          },
          { file: "runs.flood", smooth_px: smooth === undefined ? "default" : `${KEY}.smooth_px`, ...sources },
        ),
        effect: { ...effect, pixelsMasked: isBeam ? 0 : outOfRange },
        warnings,
      };
    });
  },
};
