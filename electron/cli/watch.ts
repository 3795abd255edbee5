import { mkdir, realpath, stat } from "node:fs/promises";
import { resolve } from "node:path";
import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import { describeFault, type Fault, failure, type Result, success } from "../../core/model/result.ts";
import { STOP_CAUTION } from "../../core/plan/assess-stop.ts";
import { type Plan, RUN_ROLES } from "../../core/plan/plan.ts";
import { FolderLock } from "../services/folder-lock.ts";
import { ioFault } from "../services/io-fault.ts";
import { type Arrival, type ArrivalOutcome, watchFolder } from "../services/watch-folder.ts";
import { WatchJournal } from "../services/watch-journal.ts";
import type { Command, CommandContext, CommandResult } from "./command.ts";
import { planFolder, readPlanFile } from "./plan-file.ts";
import { LIMIT_OPTIONS, positiveOption, readLimits } from "./stop-limits.ts";
import { FrameReducer, ownFault } from "./watch-frame.ts";
import { failedLine, judgedLine, lineText, type WatchLine } from "./watch-line.ts";

const POLL_MS = 1000;
/** Looks for which a file that does not read is waited for, before it is told as failed. */
const PATIENT_LOOKS = 30;

export const watch: Command = {
  name: "watch",
  summary: "judge and reduce each new frame of a folder as it is complete",
  arguments: ["DIR"],
  required: ["plan", "out"],
  options: {
    plan: {
      type: "string",
      placeholder: "PLAN",
      help: "how each frame is reduced; its sample is replaced by the frame",
    },
    out: { type: "string", placeholder: "DIR", help: "result folders, watch.jsonl, and what a restart needs" },
    "poll-ms": { type: "string", placeholder: "N", help: `time between two looks at the folder (${POLL_MS})` },
    ...LIMIT_OPTIONS,
  },
  details: [
    "Runs until Ctrl-C. A frame is complete when its size and time are the same over two looks and it reads to its end.",
    "One that changes later is reduced again. Each frame adds a line to watch.jsonl; with --json the same lines go to",
    "standard output, one JSON document a line. Started again with the same --out, it goes on where it was; two at once",
    "are refused. Files that the plan names in other roles are no frames; hidden and temporary files are left alone.",
    "",
    STOP_CAUTION,
  ].join("\n"),
  async run(context) {
    const { given } = context;
    const [dir = ""] = given.positionals;
    const pollMs = positiveOption(given, "poll-ms");
    if (!pollMs.ok) return pollMs;
    const limits = readLimits(given);
    if (!limits.ok) return limits;
    const planFile = given.values.get("plan") ?? "";
    const plan = await readPlanFile(planFile);
    if (!plan.ok) return plan;
    const folder = await realFolder(dir);
    if (!folder.ok) return folder;
    const out = resolve(given.values.get("out") ?? "");
    const job = { plan: plan.value, planFolder: planFolder(planFile), out, limits: limits.value };
    const reducer = new FrameReducer(job);
    const usable = await reducer.check(context.signal);
    if (!usable.ok) return usable;
    try {
      await mkdir(out, { recursive: true });
    } catch (error) {
      return ioFault("write", out, error);
    }
    const lock = await FolderLock.take(out);
    if (!lock.ok) return lock;
    try {
      const journal = await WatchJournal.open(out, folder.value);
      if (!journal.ok) return journal;
      try {
        const frames = new WatchedFrames({ reducer, journal: journal.value, context });
        const others = otherRuns(plan.value, job.planFolder);
        return await frames.watch(folder.value, pollMs.value ?? POLL_MS, (path) => others.has(path));
      } finally {
        await journal.value.close();
      }
    } finally {
      await lock.value.release();
    }
  },
};

async function realFolder(dir: string): Promise<Result<string>> {
  try {
    const folder = await realpath(dir);
    if ((await stat(folder)).isDirectory()) return success(folder);
    return failure("unsupported", `${dir} is not a folder`, { file: dir });
  } catch (error) {
    return ioFault("list", dir, error);
  }
}

/** Direct beam, empty cell and the like may lie among the frames. */
function otherRuns(plan: Plan, folder: string): ReadonlySet<string> {
  const names = RUN_ROLES.flatMap((role) => {
    const reference = role === "sample" ? undefined : plan.runs[role];
    return reference === undefined ? [] : [typeof reference === "string" ? reference : reference.file];
  });
  if (plan.mask?.file !== undefined) names.push(plan.mask.file);
  return new Set(names.map((name) => resolve(folder, name)));
}

interface WatchParts {
  readonly reducer: FrameReducer;
  readonly journal: WatchJournal;
  readonly context: CommandContext;
}

class WatchedFrames {
  readonly #parts: WatchParts;
  #verdict: BeamStopVerdict | null;
  #judged = 0;
  #failed = 0;
  /** Why the watch can't go on: the journal can't be written. */
  #end: Fault | undefined;

  constructor(parts: WatchParts) {
    this.#parts = parts;
    const last = parts.journal.last as WatchLine | undefined;
    this.#verdict = last?.verdict ?? last?.previousVerdict ?? null;
  }

  async watch(folder: string, pollMs: number, leaveOut: (path: string) => boolean): Promise<Result<CommandResult>> {
    const { context, journal } = this.#parts;
    const { note, signal } = context;
    const given = new AbortController();
    const earlier = journal.done.size;
    note(`watching ${folder}${earlier > 0 ? `; ${earlier} files were done earlier` : ""}; Ctrl-C ends it`);
    const watched = await watchFolder({
      folder,
      pollMs,
      patienceMs: PATIENT_LOOKS * pollMs,
      done: journal.done,
      leaveOut,
      signal: AbortSignal.any([signal, given.signal]),
      onTrouble: (message) => note(message === undefined ? `${folder} is there again` : `${message}; waiting for it`),
      onArrival: async (arrival) => {
        const outcome = await this.#take(arrival);
        if (this.#end !== undefined) given.abort();
        return outcome;
      },
    });
    if (!watched.ok) return watched;
    if (this.#end !== undefined) return { ok: false, fault: this.#end };
    const failed = this.#failed === 0 ? "" : `, ${this.#failed} failed`;
    return success({ json: undefined, text: `watch ended: ${this.#judged} frames judged${failed}` });
  }

  async #take(arrival: Arrival): Promise<ArrivalOutcome> {
    const { context, journal, reducer } = this.#parts;
    const { signal, note, onProgress } = context;
    const { name, path, isReplacement: replaced } = arrival;
    const folder = journal.folderFor(name);
    const progress = (fraction: number, what: string) => onProgress(fraction, `${name}: ${what}`);
    let result: Result<BeamStopReport>;
    try {
      progress(0, "reading");
      result = await reducer.reduce(path, folder, { signal, onProgress: progress });
    } catch (error) {
      // Stopped in the middle: the frame is done anew at the next start.
      if (signal.aborted) return "gone";
      result = ownFault(error, name);
    }
    if (!result.ok) {
      if (!(await isThere(path))) {
        note(`${name} went away before it was read`);
        return "gone";
      }
      // A file that is still written, or a share that stutters, reads well a little later.
      const { code } = result.fault;
      if ((code === "incomplete" || code === "unreadable") && !arrival.isLastTry) return "incomplete";
    }
    const place = { sequence: journal.nextSequence, file: name, replaced, previousVerdict: this.#verdict };
    const line = result.ok
      ? judgedLine(place, { report: result.value, folder })
      : failedLine(place, { ...result.fault, message: describeFault(result.fault) });
    const entered = await journal.enter(arrival, folder, line);
    if (!entered.ok) {
      this.#end = entered.fault;
      return "gone";
    }
    if (result.ok) this.#judged++;
    else this.#failed++;
    this.#verdict = line.verdict ?? this.#verdict;
    context.print(
      context.given.flags.has("json") ? JSON.stringify(line) : lineText(line, result.ok ? result.value : undefined),
    );
    return "done";
  }
}

async function isThere(path: string): Promise<boolean> {
  try {
    await stat(path);
    return true;
  } catch {
    // Whatever keeps it from being seen: when it is seen again, it is read again.
    return false;
  }
}
