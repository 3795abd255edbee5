import type { LedgerEntry } from "../model/ledger.ts";
import type { RunRole } from "../model/plan.ts";
import { type Result, success } from "../model/result.ts";
import type { Correction, CorrectionContext, Step } from "./correction.ts";

/**
 * Runs a list of corrections over the estimates of some roles, correction by correction. All of them are prepared before
 * the first pixel is touched, so that a plan is refused as a whole.
 * @returns one ledger entry a correction; what differs between runs stands under the run's role
 * @throws RangeError where a correction was applied to an estimate before
 */
export function runCorrections(
  list: readonly Correction[],
  context: CorrectionContext,
  roles: readonly RunRole[],
): Result<readonly LedgerEntry[]> {
  const prepared: {
    readonly key: string;
    readonly steps: readonly { readonly role: RunRole; readonly step: Step }[];
  }[] = [];
  for (const correction of list) {
    const steps: { readonly role: RunRole; readonly step: Step }[] = [];
    for (const role of roles) {
      if (!correction.roles.includes(role) || context.runs[role] === undefined) continue;
      const step = correction.prepare(context, role);
      if (!step.ok) return step;
      steps.push({ role, step: step.value });
    }
    if (steps.length > 0) prepared.push({ key: correction.key, steps });
  }
  return success(
    prepared.map(({ key, steps }) => {
      const entries = steps.map(({ role, step }) => {
        const estimate = context.branches[role];
        if (estimate === undefined) throw new TypeError(`there is no estimate of ${role}`);
        if (estimate.applied?.includes(key)) throw new RangeError(`${key} was applied to ${role} already`);
        estimate.applied = [...(estimate.applied ?? []), key];
        return { role, entry: step(estimate) };
      });
      context.afterStep?.(key);
      return joinEntries(entries);
    }),
  );
}

/** The first role's entry, with what is different for the others under "role.key". */
function joinEntries(entries: readonly { readonly role: RunRole; readonly entry: LedgerEntry }[]): LedgerEntry {
  const first = entries[0];
  if (first === undefined) throw new RangeError("a correction without an entry");
  let joined = first.entry;
  for (const { role, entry } of entries.slice(1)) {
    const warnings = entry.warnings.filter((warning) => !joined.warnings.includes(warning));
    joined = {
      ...joined,
      parameters: joinRecords(joined.parameters, first.entry.parameters, entry.parameters, role),
      sources: joinRecords(joined.sources, first.entry.sources, entry.sources, role),
      warnings: [...joined.warnings, ...warnings],
    };
    if (entry.status !== first.entry.status)
      joined = { ...joined, parameters: { ...joined.parameters, [`${role}.status`]: entry.reason ?? entry.status } };
  }
  return joined;
}

function joinRecords<T>(
  joined: Readonly<Record<string, T>>,
  base: Readonly<Record<string, T>>,
  own: Readonly<Record<string, T>>,
  role: string,
): Record<string, T> {
  const different = Object.entries(own).filter(([key, value]) => JSON.stringify(value) !== JSON.stringify(base[key]));
  return { ...joined, ...Object.fromEntries(different.map(([key, value]) => [`${role}.${key}`, value])) };
}
