import { readFile } from "node:fs/promises";
import { dirname, relative, resolve, sep } from "node:path";
import { type Result, success } from "../../core/model/result.ts";
import { sampleReferences } from "../../core/plan/inputs.ts";
import { parsePlan } from "../../core/plan/parse.ts";
import type { Plan } from "../../core/plan/plan.ts";
import { ioFault } from "../services/io-fault.ts";

/** Reads a plan that the command line names. */
export async function readPlanFile(file: string): Promise<Result<Plan>> {
  try {
    return parsePlan(await readFile(file, "utf8"), file);
  } catch (error) {
    return ioFault("read", file, error);
  }
}

/** Reads a plan, with the samples that the command line names instead of its own. */
export async function readPlanFor(file: string, samples: readonly string[]): Promise<Result<Plan>> {
  const plan = await readPlanFile(file);
  if (!plan.ok || samples.length === 0) return plan;
  const named = samples.map((sample) => fromPlanFolder(planFolder(file), sample));
  const [first, second] = named;
  const sample = first !== undefined && second === undefined ? first : named;
  return success({ ...plan.value, runs: { ...plan.value.runs, sample } });
}

/** Folder that the names in a plan start from. */
export function planFolder(planFile: string): string {
  return dirname(resolve(planFile));
}

/** Names on the command line start from where the person is, names in a plan from the plan. */
export function fromPlanFolder(folder: string, file: string): string {
  return relative(folder, resolve(file)).split(sep).join("/");
}

/**
 * The plan for another sample. What the plan says of how its own sample is read (dataset, frame, row order) holds for
 * the other too.
 */
export function withSample(plan: Plan, file: string): Plan {
  const [own] = sampleReferences(plan);
  const sample = typeof own === "object" ? { ...own, file } : file;
  return { ...plan, runs: { ...plan.runs, sample } };
}
