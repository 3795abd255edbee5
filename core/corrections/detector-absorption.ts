import { success } from "../model/result.ts";
import { applied, type Correction, notApplied, SCATTERING_ROLES } from "./correction.ts";
import { efficiencyRatio } from "./detector-efficiency.ts";
import { multiplyNorm } from "./estimate-parts.ts";

const KEY = "corrections.detectorAbsorption";

/** Slanted neutrons have a longer way through the detector: W *= eff(2theta)/eff(0). A flood has it taken out likewise. */
export const detectorAbsorption: Correction = {
  key: "detectorAbsorption",
  roles: SCATTERING_ROLES,
  prepare({ settings, runs, maps }) {
    const choice = settings.detectorAbsorption;
    if (choice === "none") return notApplied("detectorAbsorption", `switched off by ${KEY}`);
    if (choice === undefined) return notApplied("detectorAbsorption", `${KEY} is not given`);
    const { opticalDepth } = choice;
    const ratio = efficiencyRatio(maps.cosTwoTheta(runs.sample.geometry), opticalDepth);
    return success((target) => ({
      effect: multiplyNorm(target, ratio),
      ...applied("detectorAbsorption", { opticalDepth }, { opticalDepth: `${KEY}.opticalDepth` }),
    }));
  },
};
