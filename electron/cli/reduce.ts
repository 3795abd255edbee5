import { join, resolve } from "node:path";
import { type Fault, type Result, success } from "../../core/model/result.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import { OUTPUT_KINDS, type Plan, type RunReference } from "../../core/plan/plan.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { reductionSummary } from "../../core/report/summary.ts";
import { checkOutputFolder, writeOutputFolder } from "../services/output-folder.ts";
import { rasterise } from "../services/rasterise.ts";
import { FileRunSource } from "../services/run-source.ts";
import { VERSION } from "../services/version.ts";
import { writeHdf5 } from "../services/write-hdf5.ts";
import type { Command, CommandContext, CommandResult } from "./command.ts";
import { planFolder, readPlanFor } from "./plan-file.ts";
import { uniqueFolders } from "./sample-folders.ts";

export const reduce: Command = {
  name: "reduce",
  summary: "run a plan: frames become curves, maps, figures and a report",
  arguments: ["PLAN"],
  required: ["out"],
  options: {
    out: { type: "string", placeholder: "DIR", help: "the result folder, made by this command" },
    sample: { type: "string", placeholder: "FILE", isList: true, help: "samples instead of the plan's" },
    force: { type: "boolean", help: "write into a folder that holds other files; they stay" },
  },
  details: [
    "Several samples (a list in the plan, or several --sample) are a batch: each gets a folder of its own in DIR, named",
    "after its file. A sample that fails is named at the end, and the rest goes on.",
  ].join("\n"),
  async run(context) {
    const { given } = context;
    const [planFile = ""] = given.positionals;
    const plan = await readPlanFor(planFile, given.lists.get("sample") ?? []);
    if (!plan.ok) return plan;
    const out = resolve(given.values.get("out") ?? "");
    const job: Job = {
      plan: plan.value,
      source: new FileRunSource(planFolder(planFile)),
      out,
      force: given.flags.has("force"),
      context,
    };
    const { sample } = plan.value.runs;
    return Array.isArray(sample) ? reduceBatch(job, sample as readonly RunReference[]) : reduceOne(job);
  },
};

interface Job {
  readonly plan: Plan;
  readonly source: FileRunSource;
  readonly out: string;
  readonly force: boolean;
  readonly context: CommandContext;
}

/** Reduces one sample and writes its folder. Nothing is written where anything fails. */
async function reduceSample(
  job: Job,
  sampleIndex: number,
  folder: string,
  onProgress: (fraction: number, what: string) => void,
): Promise<Result<Reduction>> {
  const { plan, source, force, context } = job;
  const { signal } = context;
  const reduced = await reducePlan(plan, source, { sampleIndex, signal, onProgress, version: VERSION });
  if (!reduced.ok) return reduced;
  onProgress(1, "writing");
  const kinds = plan.outputs ?? OUTPUT_KINDS;
  const files = await buildOutputs(reduced.value, kinds, { writeHdf5, rasterise }, signal);
  if (!files.ok) return files;
  signal.throwIfAborted();
  const written = await writeOutputFolder(folder, files.value, force);
  return written.ok ? reduced : written;
}

async function reduceOne(job: Job): Promise<Result<CommandResult>> {
  const { out, force, context } = job;
  const free = await checkOutputFolder(out, force);
  if (!free.ok) return free;
  const reduced = await reduceSample(job, 0, out, context.onProgress);
  if (!reduced.ok) return reduced;
  return success({
    json: { ...reductionSummary(reduced.value), out },
    text: describeForPeople(reduced.value, out),
  });
}

async function reduceBatch(job: Job, samples: readonly RunReference[]): Promise<Result<CommandResult>> {
  const { out, force, context } = job;
  const folders = uniqueFolders(samples.map((sample) => (typeof sample === "string" ? sample : sample.file)));
  // Before the first is reduced: a batch that stops at its last folder has wasted the night.
  for (const { folder } of folders) {
    const free = await checkOutputFolder(join(out, folder), force);
    if (!free.ok) return free;
  }
  const failed: Fault[] = [];
  const results: unknown[] = [];
  const lines: string[] = [];
  for (const [index, { file, folder }] of folders.entries()) {
    context.signal.throwIfAborted();
    const place = join(out, folder);
    const reduced = await reduceSample(job, index, place, (fraction, what) =>
      context.onProgress((index + fraction) / folders.length, `${file}: ${what}`),
    );
    if (reduced.ok) {
      results.push({ ...reductionSummary(reduced.value), sample: file, out: place });
      lines.push(describeForPeople(reduced.value, place));
    } else {
      const fault = { ...reduced.fault, file: reduced.fault.file ?? file };
      failed.push(fault);
      results.push({ sample: file, error: fault });
    }
  }
  lines.push(`${folders.length - failed.length} of ${folders.length} samples reduced`);
  return success({ json: { out, results, failed: failed.length }, text: lines.join("\n"), failed });
}

function describeForPeople(reduction: Reduction, out: string): string {
  const { x, y, xSigma, ySigma, method } = reduction.beamCentre;
  const withSigma = (value: number, sigma: number | undefined) =>
    sigma === undefined ? value.toFixed(2) : `${value.toFixed(2)} ± ${sigma.toFixed(2)}`;
  const averages = [...reduction.curves, ...reduction.profiles].map(
    ({ id, kind, intensity }) => `${id} (${kind}, ${intensity.length} points)`,
  );
  return [
    `${reduction.sampleFile} -> ${out}`,
    `  intensity in ${reduction.unit}; beam centre ${withSigma(x, xSigma)}, ${withSigma(y, ySigma)} px (${method})`,
    `  ${averages.join(", ")}`,
    ...reduction.warnings.map((warning) => `  warning: ${warning}`),
  ].join("\n");
}
