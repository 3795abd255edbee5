import { extname } from "node:path";
import { readRange } from "./read-range.ts";

const LONGEST_PLAN = 16 * 1024 * 1024;

/** Whether a file is a reduction plan: JSON with a plan version at the top. What is wrong with it is found later. */
export async function looksLikePlan(path: string): Promise<boolean> {
  if (extname(path).toLowerCase() !== ".json") return false;
  const bytes = await readRange(path, 0, LONGEST_PLAN, path);
  if (!bytes.ok) return false;
  // Not parsed: a plan with a comma too many is still meant as a plan, and opening it tells what is wrong.
  return /"planVersion"\s*:/.test(new TextDecoder().decode(bytes.value));
}
