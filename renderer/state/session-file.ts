import type { FileToken } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { Plan } from "../../core/plan/plan.ts";
import { readBeside } from "./beside-curve.ts";
import type { DocumentState, DocumentTree } from "./document-store.ts";
import { type History, type Step, startHistory } from "./history.ts";
import { isRecord } from "./is-record.ts";
import type { FileOrigin, PlanFile, PlanFiles } from "./plan-file.ts";
import { migrateSession } from "./session-migrations.ts";
import { readViewSettings, type ViewSettings } from "./view-settings.ts";

/**
 * Raised when an older Halation could no longer read what this one writes, or would drop a part of it. The host's
 * envelope is raised with it.
 */
export const SESSION_VERSION = 2;

/**
 * Undo reaches back without end while the window is open; of a session that is stored at every change, so many steps are
 * kept that writing it stays a matter of milliseconds.
 */
const STORED_STEPS = 200;

export interface Session {
  readonly history: History<DocumentTree> | undefined;
  readonly view: ViewSettings;
  readonly isSampleExperiment: boolean;
}

/** How a plan of a stored session is checked: by the plan's own schema. */
export type PlanCheck = (value: unknown) => Result<Plan>;

export function writeSession({ history, view, isSampleExperiment }: DocumentState): string {
  const {
    selectedShape: _shape,
    selectedRun: _run,
    sheet: _sheet,
    stackFrame: _frame,
    second: _second,
    ...stored
  } = view;
  return JSON.stringify({
    halationSession: SESSION_VERSION,
    isSampleExperiment,
    view: stored,
    document:
      history === undefined
        ? null
        : {
            files: history.present.files,
            plan: history.present.plan,
            beside: history.present.beside,
            past: history.past.slice(-STORED_STEPS).map(storeStep),
          },
  });
}

function storeStep({ tree, label }: Step<DocumentTree>): unknown {
  return { label, plan: tree.plan, beside: tree.beside };
}

/** Reads a stored session. A newer version and a damaged text are faults that say what happens to the session. */
export function readSession(text: string, checkPlan: PlanCheck): Result<Session> {
  let stored: unknown;
  try {
    stored = JSON.parse(text);
  } catch {
    return failure("unreadable", "the session of the last time is damaged, so the window starts without it");
  }
  if (!isRecord(stored) || typeof stored["halationSession"] !== "number")
    return failure("unreadable", "what was kept of the last time is not a session, so the window starts without it");
  if (stored["halationSession"] > SESSION_VERSION)
    return failure(
      "unsupported",
      `the session was kept by a newer Halation (version ${stored["halationSession"]}, this one reads ${SESSION_VERSION}), so the window starts without it`,
    );
  const { view: shown, isSampleExperiment: isSample, document } = migrateSession(stored, stored["halationSession"]);
  const view = readViewSettings(shown);
  const isSampleExperiment = isSample === true;
  if (!isRecord(document)) return success({ history: undefined, view, isSampleExperiment });
  const plan = checkPlan(document["plan"]);
  if (!plan.ok) return plan;
  const files = readFiles(document["files"]);
  const beside = readBeside(document["beside"]);
  const history = {
    ...startHistory({ plan: plan.value, files, beside }),
    past: readSteps(document["past"], files, checkPlan),
  };
  return success({ history, view, isSampleExperiment });
}

function readFiles(stored: unknown): PlanFiles {
  if (!isRecord(stored)) return {};
  const files = Object.values(stored).flatMap((entry): PlanFile[] => {
    if (!isRecord(entry)) return [];
    const { path, name, label, size, origin } = entry;
    if (typeof path !== "string" || typeof name !== "string") return [];
    return [
      {
        path,
        name,
        label: typeof label === "string" ? label : path,
        size: typeof size === "number" ? size : 0,
        origin: readOrigin(origin, name),
        ...(entry["holds"] === "curves" && { holds: "curves" }),
      },
    ];
  });
  return Object.fromEntries(files.map((file) => [file.path, file]));
}

/** A dropped file can't be had again without the person: a browser keeps no way back to it. */
function readOrigin(stored: unknown, name: string): FileOrigin {
  if (isRecord(stored) && stored["kind"] === "host" && typeof stored["token"] === "string")
    return { kind: "host", token: stored["token"] as FileToken };
  if (isRecord(stored) && stored["kind"] === "inline" && typeof stored["base64"] === "string")
    return { kind: "inline", base64: stored["base64"] };
  return { kind: "lost", reason: `${name} was dropped on the window the last time; drop it again to go on` };
}

/** Steps whose plan is no longer understood end the chain: what lies before them can't be reached. */
function readSteps(stored: unknown, files: PlanFiles, checkPlan: PlanCheck): readonly Step<DocumentTree>[] {
  if (!Array.isArray(stored)) return [];
  const steps: Step<DocumentTree>[] = [];
  for (const entry of stored.toReversed()) {
    if (!isRecord(entry) || typeof entry["label"] !== "string") break;
    const plan = checkPlan(entry["plan"]);
    if (!plan.ok) break;
    steps.unshift({ label: entry["label"], tree: { plan: plan.value, files, beside: readBeside(entry["beside"]) } });
  }
  return steps;
}
