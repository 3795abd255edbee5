import { failure, success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";
import { multiplyNorm, sharedScatter } from "./estimate-parts.ts";
import { normalisationOf } from "./normalise.ts";

const KEY = "corrections.absolute";

/**
 * 1/cm: W *= K. By direct beam K = N_D/(M_D a_D), the counts of the whole empty beam on the same detector per unit of
 * normalisation, where the efficiency at 2 theta = 0 cancels; by a standard the intensity is multiplied by a factor.
 */
export const absolute: Correction = {
  key: "absolute",
  roles: ["sample"],
  prepare({ settings, runs, directBeam, transmission }) {
    const choice = settings.absolute;
    if (choice === undefined) return notApplied("absolute", `${KEY} is not given`);
    if (choice === "none") return notApplied("absolute", `switched off by ${KEY}`);
    const warnings =
      transmission?.sample === undefined
        ? ["absolute intensities are not corrected for the sample's transmission"]
        : [];
    if (choice.method === "factor") {
      const { value, sigma } = choice;
      return success((target) => {
        const effect = multiplyNorm(target, 1 / value);
        const relativeSigma = sigma === undefined ? {} : { relativeSigma: sigma / value };
        target.common.push({ name: "absolute", value, ...relativeSigma });
        return {
          ...applied("absolute", { ...choice }, { value: `${KEY}.value` }),
          effect,
          ...relativeSigma,
          warnings,
        };
      });
    }
    if (directBeam === undefined)
      return failure("missing", `${KEY} by direct beam needs runs.emptyBeam`, { field: "runs.emptyBeam" });
    if (normalisationOf(settings, runs) === "none")
      return failure("missing", `${KEY} by direct beam needs a normalisation: set metadata.sample.monitorCounts`, {
        field: "metadata.sample.monitorCounts",
      });
    const { value, sigma, from, details, sensitivityRelativeSigma: ofFlood = 0 } = directBeam;
    // T goes with 1/N_0 and K with N_0: in their product the empty beam's own scatter cancels.
    const shared = sharedScatter(directBeam, 1);
    return success((target) => {
      const effect = multiplyNorm(target, value);
      const relativeSigma = sigma === undefined ? {} : { relativeSigma: sigma / value };
      target.common.push({ name: "absolute", value, ...withoutFlood(relativeSigma.relativeSigma, ofFlood), ...shared });
      if (ofFlood > 0) target.common.push({ name: "flood at the direct beam", value: 1, relativeSigma: ofFlood });
      return {
        ...applied(
          "absolute",
          {
            method: choice.method,
            directBeam: value,
            ...(sigma === undefined ? {} : { directBeam_sigma: sigma }),
            ...(ofFlood > 0 && { flood_relativeSigma: ofFlood }),
            ...details,
          },
          { method: `${KEY}.method`, directBeam: from },
        ),
        effect,
        ...relativeSigma,
        warnings: [...warnings, ...(directBeam.warnings ?? [])],
      };
    });
  },
};

/** What is left of the scale's relative sigma once the flood's part has a line of its own. */
function withoutFlood(relativeSigma: number | undefined, ofFlood: number): { readonly relativeSigma?: number } {
  if (relativeSigma === undefined) return {};
  return { relativeSigma: Math.sqrt(Math.max(0, relativeSigma * relativeSigma - ofFlood * ofFlood)) };
}
