import { METADATA_FIELDS, type NumericKey, type Sourced } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { RunInputs } from "./correction.ts";

type SingleKey = Exclude<NumericKey, "pixelSize" | "beamCentre" | "tilt">;

/** The value of a run's number in the plan's unit, where it is known and in range; otherwise why it can't be used. */
export function requiredNumber(run: RunInputs, key: SingleKey, purpose: string): Result<Sourced<number>> {
  const field = METADATA_FIELDS.find((entry) => entry.key === key);
  if (field === undefined) throw new TypeError(`no metadata is called ${key}`);
  const planKey = `metadata.${run.role}.${field.fileKey}`;
  const found = run.metadata[key];
  const label = field.label.toLowerCase();
  if (found === undefined)
    return failure("missing", `${purpose} needs the ${label} of ${run.file}, which gives none: set ${planKey}`, {
      file: run.file,
      field: planKey,
    });
  const fits =
    field.range === "fraction" ? found.value > 0 && found.value <= 1 : found.value > 0 && found.value < Infinity;
  if (!fits) {
    const wanted = field.range === "fraction" ? "> 0 and <= 1" : "> 0";
    return failure(
      "out-of-range",
      `${purpose} needs a ${label} ${wanted}; ${found.from} of ${run.file} says ${found.value / field.scale}: set ${planKey}`,
      { file: run.file, field: planKey },
    );
  }
  return success(found);
}
