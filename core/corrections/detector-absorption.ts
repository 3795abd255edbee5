import { success } from "../model/result.ts";
import { applied, type Correction, notApplied, SCATTERING_ROLES } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { multiplyNorm } from "./estimate-parts.ts";

const KEY = "corrections.detectorAbsorption";

/**
 * Slanted neutrons have a longer way through the detector: W *= eff(2theta)/eff(0). A flood has it taken out likewise.
 * Upright round tubes: by the slope to the horizontal, and with the width that they show to the side (tubeRatio).
 */
export const detectorAbsorption: Correction = {
  key: "detectorAbsorption",
  roles: SCATTERING_ROLES,
  prepare({ settings, runs, maps }) {
    const choice = settings.detectorAbsorption;
    if (choice === "none") return notApplied("detectorAbsorption", `switched off by ${KEY}`);
    if (choice === undefined) return notApplied("detectorAbsorption", `${KEY} is not given`);
    const { opticalDepth, shape } = choice;
    const ratio = maps.detectorAbsorption(runs.sample.geometry, choice);
    return success((target) => ({
      effect: multiplyNorm(target, ratio),
      ...applied(
        "detectorAbsorption",
        { opticalDepth, shape: shape ?? CORRECTION_DEFAULTS.detectorShape },
        { opticalDepth: `${KEY}.opticalDepth`, shape: shape === undefined ? "default" : `${KEY}.shape` },
      ),
    }));
  },
};
