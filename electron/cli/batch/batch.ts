import { availableParallelism } from "node:os";
import { join } from "node:path";
import { type Fault, type Result, success } from "../../../core/model/result.ts";
import type { RunReference } from "../../../core/plan/plan.ts";
import { type OverviewSample, overviewFiles } from "../../../core/report/overview.ts";
import { checkOutputFolder, checkOwnFiles, writeOutputFolder } from "../../services/output-folder.ts";
import { rasterise } from "../../services/rasterise.ts";
import { FileRunSource } from "../../services/run-source.ts";
import type { CommandContext, CommandResult } from "../command.ts";
import { uniqueFolders } from "../sample-folders.ts";
import { ownFault } from "../watch-frame.ts";
import { sampleFingerprint } from "./fingerprint.ts";
import { type Hand, ownHand, ThreadHand } from "./hands.ts";
import { keptResult } from "./kept-result.ts";
import type { SampleJob, SampleResult } from "./sample-reducer.ts";

export const MOST_WORKERS = 2;

export interface BatchOptions {
  /** Leave samples alone whose folder is whole and would come out the same. */
  readonly resume: boolean;
  /** Samples at a time; left out: 2, where there are two cores. */
  readonly workers?: number | undefined;
}

type Outcome =
  | { readonly status: "reduced" | "kept"; readonly result: SampleResult }
  | { readonly status: "failed"; readonly fault: Fault };

/** Every sample of a list, each in a folder of its own, and the overview of all of them beside the folders. */
export async function reduceBatch(
  job: SampleJob,
  samples: readonly RunReference[],
  { resume, workers }: BatchOptions,
  context: CommandContext,
): Promise<Result<CommandResult>> {
  const { out, force } = job;
  const folders = uniqueFolders(samples.map((sample) => (typeof sample === "string" ? sample : sample.file)));
  // Before the first is reduced: a batch that stops at its last folder has wasted the night.
  for (const { folder } of folders) {
    const free = await checkOutputFolder(join(out, folder), force);
    if (!free.ok) return free;
  }
  const free = await checkOwnFiles(out, ["overview.csv", "overview.json", "overview.svg", "overview.png"], force);
  if (!free.ok) return free;

  const outcomes: Outcome[] = [];
  if (resume) await findKept(job, folders, outcomes, context.signal);
  const left = folders.map((_, index) => index).filter((index) => outcomes[index] === undefined);
  const atOnce = Math.max(1, Math.min(workers ?? Math.min(MOST_WORKERS, availableParallelism()), left.length));
  const hands = Array.from({ length: atOnce }, () => handFor(job, atOnce, context));
  const done = folders.map((_, index): number => (outcomes[index] === undefined ? 0 : 1));
  try {
    const work = hands.map(async (hand) => {
      for (let index = left.shift(); index !== undefined; index = left.shift()) {
        const sample = folders[index];
        if (sample === undefined) throw new TypeError(`there is no sample ${index}`);
        const { file, folder } = sample;
        const at = index;
        outcomes[index] = await reduceOne(hand, { index, folder, file }, context.signal, (fraction, what) => {
          done[at] = fraction;
          context.onProgress(done.reduce((sum, part) => sum + part, 0) / folders.length, `${file}: ${what}`);
        });
      }
    });
    // All of them end before any is told to have failed: none may write on when the command is over.
    const ended = await Promise.allSettled(work);
    for (const one of ended) if (one.status === "rejected") throw one.reason;
  } finally {
    await Promise.all(hands.map((hand) => hand.close()));
  }
  context.signal.throwIfAborted();
  return finish(job, folders, outcomes, context);
}

function handFor(job: SampleJob, atOnce: number, { threadFile }: CommandContext): Hand {
  return threadFile === undefined || atOnce === 1 ? ownHand(job) : new ThreadHand(threadFile, job);
}

async function reduceOne(
  hand: Hand,
  { index, folder, file }: { readonly index: number; readonly folder: string; readonly file: string },
  signal: AbortSignal,
  onProgress: (fraction: number, what: string) => void,
): Promise<Outcome> {
  let reduced: Result<SampleResult>;
  try {
    reduced = await hand.reduce({ index, folder }, { signal, onProgress });
  } catch (error) {
    signal.throwIfAborted();
    reduced = ownFault(error, file);
  }
  onProgress(1, "done");
  return reduced.ok
    ? { status: "reduced", result: reduced.value }
    : { status: "failed", fault: { ...reduced.fault, file: reduced.fault.file ?? file } };
}

async function findKept(
  { plan, planFolder, out }: SampleJob,
  folders: readonly { readonly folder: string }[],
  outcomes: Outcome[],
  signal: AbortSignal,
): Promise<void> {
  const source = new FileRunSource(planFolder);
  for (const [index, { folder }] of folders.entries()) {
    const madeFrom = await sampleFingerprint(plan, index, source, signal);
    const result = madeFrom === undefined ? undefined : await keptResult(join(out, folder), madeFrom, signal);
    if (result !== undefined) outcomes[index] = { status: "kept", result };
  }
}

async function finish(
  { out, plan }: SampleJob,
  folders: readonly { readonly file: string; readonly folder: string }[],
  outcomes: readonly Outcome[],
  { signal }: CommandContext,
): Promise<Result<CommandResult>> {
  const failed: Fault[] = [];
  const results: unknown[] = [];
  const lines: string[] = [];
  const table: OverviewSample[] = [];
  for (const [index, { file, folder }] of folders.entries()) {
    const outcome = outcomes[index];
    if (outcome === undefined) throw new TypeError(`sample ${index} was neither reduced nor refused`);
    const { status } = outcome;
    if (outcome.status === "failed") {
      const { fault } = outcome;
      failed.push(fault);
      results.push({ sample: file, status, error: fault });
      table.push({ sample: file, folder: null, status: outcome.status, message: fault.message });
      continue;
    }
    const { summary, text, curve } = outcome.result;
    results.push({ ...summary, sample: file, status, out: join(out, folder) });
    lines.push(text);
    table.push({ sample: file, folder, status: outcome.status, summary, ...(curve && { curve }) });
  }
  const files = await overviewFiles({ title: plan.title ?? "Overview", samples: table }, { rasterise }, signal);
  const written = await writeOutputFolder(out, files, true);
  if (!written.ok) return written;
  const kept = outcomes.filter(({ status }) => status === "kept").length;
  const count = `${folders.length - failed.length - kept} of ${folders.length} samples reduced`;
  lines.push(kept > 0 ? `${count}, ${kept} kept as they were` : count);
  return success({ json: { out, results, failed: failed.length, kept }, text: lines.join("\n"), failed });
}
