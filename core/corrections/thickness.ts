import { success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";
import { multiplyNorm } from "./estimate-parts.ts";
import { requiredNumber } from "./known-number.ts";

const CM_PER_M = 100;
const MM_PER_M = 1000;

/** Cross-section per volume: W *= thickness, in cm. Of the sample alone: the cell was subtracted before. */
export const thickness: Correction = {
  key: "thickness",
  roles: ["sample"],
  prepare({ settings, runs }) {
    const { sample } = runs;
    const known = sample.metadata.thickness;
    const isAbsolute = typeof settings.absolute === "object";
    const byFactor = typeof settings.absolute === "object" && settings.absolute.method === "factor";
    if (known === undefined && (byFactor || !isAbsolute))
      return notApplied(
        "thickness",
        "metadata.sample.thickness_mm is not given",
        byFactor ? ["the thickness is not known: the absolute factor is taken to contain it"] : [],
      );
    if (known !== undefined && !(known.value > 0) && !isAbsolute)
      return notApplied("thickness", `${known.from} says ${known.value} m: set metadata.sample.thickness_mm`, [
        `the thickness of ${sample.file} is not > 0 and was not used`,
      ]);
    const found = requiredNumber(sample, "thickness", "intensity per volume");
    if (!found.ok) return found;
    const { value, from } = found.value;
    return success((target) => {
      const effect = multiplyNorm(target, value * CM_PER_M);
      target.common.push({ name: "thickness_cm", value: value * CM_PER_M });
      return { ...applied("thickness", { thickness_mm: value * MM_PER_M }, { thickness_mm: from }), effect };
    });
  },
};
