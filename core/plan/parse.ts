import * as v from "valibot";
import { type Fault, failure, type Result, success } from "../model/result.ts";
import { consistencyFaults } from "./consistency.ts";
import { findJsonProblem } from "./json-position.ts";
import type { Plan } from "./plan.ts";
import { planSchema } from "./schema.ts";

/**
 * A plan from the text of its file. Nothing is opened: the fault names the line and column of a JSON error, or the key
 * whose value is wrong, or the keys that contradict each other.
 *
 * @param file the plan's name, for messages
 */
export function parsePlan(text: string, file: string): Result<Plan> {
  // Editors of some systems put a byte-order mark in front.
  const json = text.startsWith("\uFEFF") ? text.slice(1) : text;
  const problem = findJsonProblem(json);
  if (problem !== undefined)
    return failure("unreadable", `line ${problem.line}, column ${problem.column} is not JSON: ${problem.what}`, {
      file,
    });
  return validatePlan(JSON.parse(json), file);
}

/** A plan from parsed JSON. Where several things are wrong, the first is the message and the others follow it. */
export function validatePlan(input: unknown, file?: string): Result<Plan> {
  const faults = planFaults(input);
  const first = faults[0];
  if (first === undefined) return success(input as Plan);
  const others = faults.slice(1).map(({ message }) => message);
  const message = others.length === 0 ? first.message : `${first.message} (also: ${others.join("; ")})`;
  return { ok: false, fault: { ...first, message, ...(file === undefined ? {} : { file }) } };
}

/**
 * Everything that is wrong with a plan: unknown keys first, since a misspelt key makes others look missing, then in the
 * order of its keys. Contradictions are looked for in a sound plan only.
 */
export function planFaults(input: unknown): readonly Fault[] {
  const parsed = v.safeParse(planSchema, input);
  return parsed.success
    ? consistencyFaults(parsed.output)
    : [...parsed.issues].sort((a, b) => Number(isUnknownKey(b)) - Number(isUnknownKey(a))).map(issueFault);
}

function isUnknownKey({ type, expected }: v.BaseIssue<unknown>): boolean {
  return type === "strict_object" && expected === "never";
}

function issueFault(issue: v.BaseIssue<unknown>): Fault {
  const field = fieldPath(issue.path ?? []);
  const place = field === "" ? "the plan" : field;
  const isKey = issue.type === "strict_object";
  const shown = isKey ? "" : `; found ${abbreviate(issue.input)}`;
  return {
    code: isKey && !isUnknownKey(issue) ? "missing" : "out-of-range",
    message: `${place} ${issue.message}${shown}`,
    ...(field === "" ? {} : { field }),
  };
}

/** "averages[1].bins.qMin" */
function fieldPath(path: readonly { readonly key?: unknown }[]): string {
  return path.reduce((text, { key }) => {
    if (typeof key === "number") return `${text}[${key}]`;
    return text === "" ? String(key) : `${text}.${String(key)}`;
  }, "");
}

const LONGEST_SHOWN = 60;

function abbreviate(input: unknown): string {
  const text = JSON.stringify(input) ?? "nothing";
  return text.length > LONGEST_SHOWN ? `${text.slice(0, LONGEST_SHOWN)}...` : text;
}
