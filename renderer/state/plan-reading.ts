import {
  type Plan,
  type PlanAverage,
  type PlanMetadata,
  RUN_ROLES,
  type RunReference,
  type RunRole,
} from "../../core/plan/plan.ts";

export function referencePath(reference: RunReference): string {
  return typeof reference === "string" ? reference : reference.file;
}

/** The samples of a plan, one or many, as a list. */
export function samplesOf(plan: Plan): readonly RunReference[] {
  const { sample } = plan.runs;
  return isList(sample) ? sample : [sample];
}

function isList(value: RunReference | readonly RunReference[]): value is readonly RunReference[] {
  return Array.isArray(value);
}

export interface RoleOfRun {
  readonly role: RunRole;
  readonly reference: RunReference;
}

/** Every run of a plan with its role, in the order of the roles. */
export function runsOf(plan: Plan): readonly RoleOfRun[] {
  return RUN_ROLES.flatMap((role): readonly RoleOfRun[] => {
    if (role === "sample") return samplesOf(plan).map((reference) => ({ role, reference }));
    const reference = plan.runs[role];
    return reference === undefined ? [] : [{ role, reference }];
  });
}

/** The role that a file plays, undefined where it plays none. */
export function roleOf(plan: Plan, path: string): RunRole | undefined {
  return runsOf(plan).find(({ reference }) => referencePath(reference) === path)?.role;
}

/** What the plan says of one number, and where it says so: a role's own entry wins over "all". */
export function planValue(
  plan: Plan,
  role: RunRole,
  fileKey: string,
): { readonly value: PlanMetadata[string]; readonly scope: RunRole | "all" } | undefined {
  for (const scope of [role, "all"] as const) {
    const value = plan.metadata?.[scope]?.[fileKey];
    if (value !== undefined) return { value, scope };
  }
  return undefined;
}

/** An id for a new average that the plan doesn't use yet: "sector", then "sector-2". */
export function freeAverageId(averages: readonly PlanAverage[], stem: string): string {
  const taken = new Set(averages.map(({ id }) => id));
  if (!taken.has(stem)) return stem;
  let count = 2;
  while (taken.has(`${stem}-${count}`)) count++;
  return `${stem}-${count}`;
}
