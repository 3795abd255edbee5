import { planHash } from "../../../core/plan/canonical-json.ts";
import { sampleReferences } from "../../../core/plan/inputs.ts";
import { type Plan, RUN_ROLES } from "../../../core/plan/plan.ts";
import { hasErrorCode } from "../../services/io-fault.ts";
import type { FileRunSource } from "../../services/run-source.ts";
import { VERSION } from "../../services/version.ts";

/**
 * Tells whether a result would come out the same again: a hash of the plan for this sample alone, the content of every
 * file that it names, and the program's version. Other samples of the list play no part.
 * @returns undefined where a file can't be read, which the reduction itself will say
 */
export async function sampleFingerprint(
  plan: Plan,
  index: number,
  source: FileRunSource,
  signal: AbortSignal,
): Promise<string | undefined> {
  const sample = sampleReferences(plan)[index];
  if (sample === undefined) throw new RangeError(`the plan has no sample numbered ${index}`);
  const runs = { ...plan.runs, sample };
  const names = RUN_ROLES.flatMap((role) => {
    const reference = runs[role];
    return reference === undefined ? [] : [typeof reference === "string" ? reference : reference.file];
  });
  if (plan.mask?.file !== undefined) names.push(plan.mask.file);
  const contents: string[] = [];
  try {
    for (const name of names) contents.push(await source.digest(name, signal));
  } catch (error) {
    if (hasErrorCode(error)) return undefined;
    throw error;
  }
  return planHash({ version: VERSION, plan: { ...plan, runs }, contents });
}
