import { failure, success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";

const KEY = "corrections.background_1cm";

/** A constant that the solvent or the incoherent scattering adds, subtracted last: n -= b W. */
export const background: Correction = {
  key: "background_1cm",
  roles: ["sample"],
  prepare({ settings }) {
    const value = settings.background_1cm;
    if (value === undefined) return notApplied("background_1cm", `${KEY} is not given`);
    if (value === 0) return notApplied("background_1cm", `${KEY} is 0`);
    if (settings.absolute === undefined || settings.absolute === "none")
      return failure("inconsistent", `${KEY} is in 1/cm, but the intensities are not: give corrections.absolute`, {
        field: KEY,
      });
    return success((target) => {
      target.background = value;
      return applied("background_1cm", { background_1cm: value }, { background_1cm: KEY });
    });
  },
};
