import type { Plan, PlanCorrections } from "../../core/plan/plan.ts";
import type { DocumentTree } from "./document-store.ts";
import type { History } from "./history.ts";

/**
 * What a correction was told when it was last on: its parameters come back when a step that was left out is taken in
 * again. `counts` says which settings to look for. Undefined: it never was told anything, or no longer than the history reaches.
 */
export function lastSetting<K extends keyof PlanCorrections>(
  history: History<DocumentTree> | undefined,
  key: K,
  counts: (setting: Exclude<PlanCorrections[K], "none">) => boolean = () => true,
): Exclude<PlanCorrections[K], "none"> | undefined {
  if (history === undefined) return undefined;
  const trees = [history.present, ...history.past.toReversed().map(({ tree }) => tree)];
  for (const { plan } of trees) {
    const value = plan.corrections?.[key];
    if (value === "none") continue;
    const setting = value as Exclude<PlanCorrections[K], "none">;
    if (counts(setting)) return setting;
  }
  return undefined;
}

/** The empty cell's runs as they were last named; undefined where none of the remembered plans names one. */
export function lastEmptyCell(
  history: History<DocumentTree>,
): Pick<Plan["runs"], "emptyCell" | "emptyCellTransmission"> | undefined {
  return [history.present, ...history.past.toReversed().map(({ tree }) => tree)].find(
    ({ plan }) => plan.runs.emptyCell !== undefined,
  )?.plan.runs;
}
