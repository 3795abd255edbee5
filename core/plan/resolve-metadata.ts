import { METADATA_FIELDS, type MetadataField, type RunMetadata, type Sourced } from "../model/metadata.ts";
import { type Plan, RUN_ROLES, type RunRole } from "./plan.ts";

/** A run's numbers: the plan's for this role, else the plan's for all, else the file's. Each says where it came from. */
export function resolveMetadata(plan: Plan, role: RunRole, file: RunMetadata): RunMetadata {
  const resolved: Record<string, Sourced<unknown>> = { ...file };
  for (const section of ["all", role] as const)
    for (const field of METADATA_FIELDS) {
      const given = plan.metadata?.[section]?.[field.fileKey];
      if (given !== undefined)
        resolved[field.key] = { value: coreValue(given, field), from: `metadata.${section}.${field.fileKey}` };
    }
  return resolved as RunMetadata;
}

function coreValue(
  given: number | readonly [number, number],
  { scale }: MetadataField,
): number | readonly [number, number] {
  return typeof given === "number" ? given * scale : [given[0] * scale, given[1] * scale];
}

/** Sections of the plan's metadata that speak of runs which the plan does not have. */
export function idleMetadata(plan: Plan): readonly string[] {
  return (Object.keys(plan.metadata ?? {}) as (RunRole | "all")[])
    .filter((role) => role !== "all" && plan.metadata?.[role] !== undefined && plan.runs[role] === undefined)
    .map((role) => `metadata.${role} is not used: runs.${role} is not given`);
}

/** Runs that the plan names but that nothing was made of: nobody should believe that they were. */
export function idleRuns(plan: Plan, used: readonly RunRole[]): readonly string[] {
  return RUN_ROLES.filter((role) => plan.runs[role] !== undefined && !used.includes(role)).map(
    (role) => `runs.${role} is given but was not needed`,
  );
}
