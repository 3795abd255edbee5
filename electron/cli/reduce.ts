import { availableParallelism } from "node:os";
import { resolve } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { RunReference } from "../../core/plan/plan.ts";
import { checkOutputFolder } from "../services/output-folder.ts";
import { FileRunSource } from "../services/run-source.ts";
import { MOST_WORKERS, reduceBatch } from "./batch/batch.ts";
import { sampleFingerprint } from "./batch/fingerprint.ts";
import { keptResult } from "./batch/kept-result.ts";
import { type SampleJob, SampleReducer } from "./batch/sample-reducer.ts";
import type { Command, CommandContext, CommandResult } from "./command.ts";
import { planFolder, readPlanFor } from "./plan-file.ts";
import { positiveOption } from "./stop-limits.ts";

export const reduce: Command = {
  name: "reduce",
  summary: "run a plan: frames become curves, maps, figures and a report",
  arguments: ["PLAN"],
  required: ["out"],
  options: {
    out: { type: "string", placeholder: "DIR", help: "the result folder, made by this command" },
    sample: { type: "string", placeholder: "FILE", isList: true, help: "samples instead of the plan's" },
    force: { type: "boolean", help: "write into a folder that holds other files; they stay" },
    resume: { type: "boolean", help: "keep results that would come out the same" },
    workers: { type: "string", placeholder: "N", help: `samples of a batch at a time (${MOST_WORKERS})` },
  },
  details: [
    "Several samples (a list in the plan, or several --sample) are a batch: each gets a folder of its own in DIR, named",
    "after its file, and DIR an overview of all: overview.csv, overview.json, overview.svg and overview.png. A sample that",
    "fails is named at the end, and the rest goes on. With --resume a sample is left alone whose folder is whole and was",
    "made by the same version from the same plan and the same files.",
  ].join("\n"),
  async run(context) {
    const { given } = context;
    const [planFile = ""] = given.positionals;
    const workers = positiveOption(given, "workers");
    if (!workers.ok) return workers;
    if (workers.value !== undefined && !(Number.isInteger(workers.value) && workers.value <= availableParallelism()))
      return failure("out-of-range", `--workers needs a whole number up to the ${availableParallelism()} cores`, {
        field: "--workers",
      });
    const plan = await readPlanFor(planFile, given.lists.get("sample") ?? []);
    if (!plan.ok) return plan;
    const job: SampleJob = {
      plan: plan.value,
      planFolder: planFolder(planFile),
      out: resolve(given.values.get("out") ?? ""),
      force: given.flags.has("force"),
    };
    const { sample } = plan.value.runs;
    const resume = given.flags.has("resume");
    if (!Array.isArray(sample)) return reduceOne(job, resume, context);
    const options = { resume, workers: workers.value };
    return reduceBatch(job, sample as readonly RunReference[], options, context);
  },
};

async function reduceOne(job: SampleJob, resume: boolean, context: CommandContext): Promise<Result<CommandResult>> {
  const { out, force, plan } = job;
  const free = await checkOutputFolder(out, force);
  if (!free.ok) return free;
  if (resume) {
    const madeFrom = await sampleFingerprint(plan, 0, new FileRunSource(job.planFolder), context.signal);
    const kept = madeFrom === undefined ? undefined : await keptResult(out, madeFrom, context.signal);
    if (kept !== undefined) return success({ json: { ...kept.summary, out }, text: kept.text });
  }
  const reduced = await new SampleReducer(job).reduce({ index: 0, folder: "" }, context);
  if (!reduced.ok) return reduced;
  return success({ json: { ...reduced.value.summary, out }, text: reduced.value.text });
}
