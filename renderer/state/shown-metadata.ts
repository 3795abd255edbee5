import {
  METADATA_FIELDS,
  type MetadataField,
  type NumericKey,
  type RunMetadata,
  type Sourced,
} from "../../core/model/metadata.ts";
import type { Plan, RunRole } from "../../core/plan/plan.ts";
import type { RunDescription } from "../worker/protocol.ts";
import { planValue } from "./plan-reading.ts";

/** One number of a run as the window shows it, in the plan's unit. */
export interface ShownNumber {
  readonly field: MetadataField;
  /** One entry, or two for a pair; undefined: not known. */
  readonly values: readonly number[] | undefined;
  /** "plan, all runs", or a path in the file. */
  readonly from: string | undefined;
  readonly isFromPlan: boolean;
  readonly isGuessed: boolean;
  readonly note: string | undefined;
  /** What the file says, where the plan says something else. */
  readonly inFile: readonly number[] | undefined;
  /** Where an edit goes. */
  readonly scope: RunRole | "all";
}

/** What belongs to the instrument goes to all runs at once; the rest to the run itself. */
const OF_ALL_RUNS: ReadonlySet<NumericKey> = new Set<NumericKey>([
  "wavelength",
  "wavelengthSpread",
  "distance",
  "pixelSize",
  "beamCentre",
  "sourceAperture",
  "sampleAperture",
  "collimation",
  "tilt",
  "deadTime",
]);

export function shownNumbers(plan: Plan, role: RunRole, run: RunDescription): readonly ShownNumber[] {
  const metadata: RunMetadata = { ...run.metadata, ...run.banks[0]?.metadata };
  return METADATA_FIELDS.map((field) => {
    const found: Sourced<number | readonly number[]> | undefined = metadata[field.key];
    const inFile = found === undefined ? undefined : pair(found.value).map((value) => value / field.scale);
    const planned = planValue(plan, role, field.fileKey);
    const common = { field, inFile };
    if (planned?.value !== undefined)
      return {
        ...common,
        values: pair(planned.value),
        from: planned.scope === "all" ? "plan, all runs" : "plan, this role",
        isFromPlan: true,
        isGuessed: false,
        note: undefined,
        scope: planned.scope,
      };
    return {
      ...common,
      values: inFile,
      from: found?.from,
      isFromPlan: false,
      isGuessed: found?.guessed === true,
      note: found?.note,
      scope: OF_ALL_RUNS.has(field.key) ? "all" : role,
    };
  });
}

function pair(value: number | readonly number[]): readonly number[] {
  return typeof value === "number" ? [value] : value;
}

/** Whether a number may stand in a field, as the plan's schema has it. */
export function allows({ range }: MetadataField, value: number): boolean {
  switch (range) {
    case "positive":
      return value > 0;
    case "not-negative":
      return value >= 0;
    case "fraction":
      return value > 0 && value <= 1;
    case "any":
      return true;
  }
}
