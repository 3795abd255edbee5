import type { PlanCorrections } from "../model/plan.ts";
import { success } from "../model/result.ts";
import { applied, type Correction, notApplied, type Runs, SCATTERING_ROLES } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { multiplyNorm } from "./estimate-parts.ts";
import { requiredNumber } from "./known-number.ts";

const KEY = "corrections.normaliseBy";

/**
 * Intensity per monitor count or per second: W *= M or t, and the fraction that an attenuator before the sample let
 * through, since the monitor stands before it. The monitor's own scatter, 1/sqrt(M), is common to all pixels.
 */
export const normalise: Correction = {
  key: "normaliseBy",
  roles: SCATTERING_ROLES,
  prepare({ settings, runs }, role) {
    const by = normalisationOf(settings, runs);
    const run = runs[role];
    if (run === undefined) throw new TypeError(`there is no run ${role}`);
    if (settings.normaliseBy === "none") return notApplied("normaliseBy", `switched off by ${KEY}`);
    if (by === "none")
      return notApplied("normaliseBy", `no monitor count is known: set metadata.sample.monitorCounts or ${KEY}`, [
        "intensities are not normalised: no monitor count is known",
      ]);
    const [key, name] =
      by === "time" ? (["countTime", "countTime_s"] as const) : (["monitorCounts", "monitorCounts"] as const);
    const found = requiredNumber(run, key, `normalisation by ${by}`);
    if (!found.ok) return found;
    const { value, from } = found.value;
    const { attenuation } = run.metadata;
    const isFraction = attenuation !== undefined && attenuation.value > 0 && attenuation.value <= 1;
    const open = isFraction ? attenuation.value : 1;
    return success((target) => {
      const effect = multiplyNorm(target, value * open);
      const relativeSigma = by === "monitor" ? 1 / Math.sqrt(value) : 0;
      target.common.push({ name, value, relativeSigma });
      if (open !== 1) target.common.push({ name: "attenuation", value: open });
      return {
        ...applied(
          "normaliseBy",
          { normaliseBy: by, [name]: value, ...(isFraction && { attenuation: open }) },
          {
            normaliseBy: settings.normaliseBy === undefined ? "default" : KEY,
            [name]: from,
            ...(isFraction && { attenuation: attenuation.from }),
          },
        ),
        effect,
        relativeSigma,
        warnings:
          attenuation !== undefined && !isFraction
            ? [
                `${run.file}: ${attenuation.from} says that an attenuator lets through ${attenuation.value}; not used, since it is no fraction (metadata.${role}.attenuation)`,
              ]
            : [],
      };
    });
  },
};

/**
 * What the plan's choice comes to. Without a choice the sample alone may stay as it is, with a warning; an empty cell
 * can't be subtracted without.
 */
export function normalisationOf(
  { normaliseBy }: PlanCorrections,
  { sample, emptyCell }: Runs,
): "monitor" | "time" | "none" {
  if (normaliseBy !== undefined) return normaliseBy;
  return sample.metadata.monitorCounts === undefined && emptyCell === undefined
    ? "none"
    : CORRECTION_DEFAULTS.normaliseBy;
}
