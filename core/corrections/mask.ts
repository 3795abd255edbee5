import { addMask, countMasked } from "../model/mask.ts";
import { success } from "../model/result.ts";
import { type Correction, SCATTERING_ROLES } from "./correction.ts";

/** Pixels that take no part: they are left out of every sum, neither set to 0 nor divided, and keep their reason. */
export const mask: Correction = {
  key: "mask",
  roles: SCATTERING_ROLES,
  prepare({ mask: { bits, parameters, sources, warnings } }) {
    return success((target) => {
      addMask(target.mask, bits);
      const { total, byReason } = countMasked(target.mask);
      const reasons = Object.fromEntries(Object.entries(byReason).filter(([, pixels]) => pixels > 0));
      return {
        step: "mask",
        status: total > 0 ? "applied" : "not applied",
        ...(total > 0 ? {} : { reason: "no pixel is masked" }),
        parameters: { ...parameters, pixelsByReason: reasons },
        sources,
        effect: { pixelsMasked: total },
        warnings: [...warnings, ...(total === target.mask.length ? ["every pixel is masked"] : [])],
      };
    });
  },
};
