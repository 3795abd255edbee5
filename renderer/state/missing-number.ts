import { METADATA_FIELDS, type MetadataField } from "../../core/model/metadata.ts";
import type { Fault } from "../../core/model/result.ts";
import { RUN_ROLES, type RunRole } from "../../core/plan/plan.ts";

/** A number of the plan that a fault asks for: which one, and for which runs. */
export interface MissingNumber {
  readonly field: MetadataField;
  readonly scope: RunRole | "all";
}

/** Undefined where the fault is about something else: "metadata.sample.monitorCounts", or no such key. */
export function missingNumber({ field: place, message }: Fault): MissingNumber | undefined {
  const [, scope, key] = /metadata\.(\w+)\.(\w+)/.exec(place ?? message) ?? [];
  const field = METADATA_FIELDS.find(({ fileKey }) => fileKey === key);
  const known = scope === "all" || RUN_ROLES.some((role) => role === scope);
  return field === undefined || !known ? undefined : { field, scope: scope as RunRole | "all" };
}
