import { RUN_ROLES } from "../model/plan.ts";
import { success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { addToTerms, signalSum, termOf } from "./estimate-parts.ts";
import { requiredNumber } from "./known-number.ts";

const KEY = "corrections.blockedBeam";

/**
 * Counts that are there with the beam blocked: n -= B t/t_B, or B M/M_B for the part that the beam makes. The frame
 * enters as a term of its own, so that one that is subtracted from sample and cell is squared once, with both
 * coefficients combined.
 */
export const blockedBeam: Correction = {
  key: "blockedBeam",
  roles: RUN_ROLES.filter((role) => role !== "blockedBeam"),
  prepare({ settings, runs, branches }, role) {
    const choice = settings.blockedBeam ?? CORRECTION_DEFAULTS.blockedBeam;
    if (choice === "none") return notApplied("blockedBeam", `switched off by ${KEY}`);
    const blocked = runs.blockedBeam;
    const estimate = branches.blockedBeam;
    const run = runs[role];
    if (blocked === undefined || estimate === undefined)
      return notApplied("blockedBeam", "runs.blockedBeam is not given");
    if (run === undefined) throw new TypeError(`there is no run ${role}`);

    const { scaleBy } = choice;
    const [key, name] =
      scaleBy === "time" ? (["countTime", "countTime_s"] as const) : (["monitorCounts", "monitorCounts"] as const);
    const purpose = `the blocked beam, scaled by ${scaleBy},`;
    const own = requiredNumber(run, key, purpose);
    if (!own.ok) return own;
    const other = requiredNumber(blocked, key, purpose);
    if (!other.ok) return other;
    const scale = own.value.value / other.value.value;
    return success((target) => {
      const term = termOf(estimate, "blockedBeam");
      if (term === undefined) throw new TypeError("the blocked beam has no counts");
      const before = signalSum(target);
      addToTerms(target, term, -scale);
      return {
        ...applied(
          "blockedBeam",
          { scaleBy, file: blocked.file, scale, [name]: own.value.value, [`blockedBeam.${name}`]: other.value.value },
          {
            scaleBy: settings.blockedBeam === undefined ? "default" : `${KEY}.scaleBy`,
            file: "runs.blockedBeam",
            [name]: own.value.from,
            [`blockedBeam.${name}`]: other.value.from,
          },
        ),
        effect: { factorMin: scale, factorMax: scale, signalBefore: before, signalAfter: signalSum(target) },
      };
    });
  },
};
