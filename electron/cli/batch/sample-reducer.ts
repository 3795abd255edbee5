import { join } from "node:path";
import { withSigma } from "../../../core/model/numbers.ts";
import { type Result, success } from "../../../core/model/result.ts";
import { reducePlan } from "../../../core/plan/execute.ts";
import { OUTPUT_KINDS, type Plan } from "../../../core/plan/plan.ts";
import type { Reduction } from "../../../core/plan/reduction.ts";
import { newReductionCache, type ReductionCache } from "../../../core/plan/reduction-cache.ts";
import { buildOutputs } from "../../../core/report/outputs.ts";
import { type OverviewCurve, overviewCurve } from "../../../core/report/overview.ts";
import { reductionSummary } from "../../../core/report/summary.ts";
import { writeOutputFolder } from "../../services/output-folder.ts";
import { rasterise } from "../../services/rasterise.ts";
import { FileRunSource } from "../../services/run-source.ts";
import { VERSION } from "../../services/version.ts";
import { writeHdf5 } from "../../services/write-hdf5.ts";
import { sampleFingerprint } from "./fingerprint.ts";

/** What the samples of a batch have in common. Plain data: it crosses into threads. */
export interface SampleJob {
  readonly plan: Plan;
  readonly planFolder: string;
  readonly out: string;
  readonly force: boolean;
}

export interface SampleTask {
  /** Of the plan's samples. */
  readonly index: number;
  /** Within the job's folder; "": the folder itself. */
  readonly folder: string;
}

/** What is left of a sample once its folder is written. Plain data. */
export interface SampleResult {
  readonly summary: Readonly<Record<string, unknown>>;
  readonly text: string;
  readonly curve?: OverviewCurve;
}

export interface SampleOptions {
  readonly signal: AbortSignal;
  /** 0 to 1, and what is being done. */
  readonly onProgress: (fraction: number, what: string) => void;
}

/** Reduces samples of one plan, one after the other, and keeps what they share: runs read, mask, centre, maps. */
export class SampleReducer {
  readonly #job: SampleJob;
  readonly #source: FileRunSource;
  readonly #cache: ReductionCache = newReductionCache();

  constructor(job: SampleJob) {
    this.#job = job;
    this.#source = new FileRunSource(job.planFolder);
  }

  /** Reduces one sample and writes its folder. Nothing is written where anything fails. */
  async reduce({ index, folder }: SampleTask, { signal, onProgress }: SampleOptions): Promise<Result<SampleResult>> {
    const { plan, out, force } = this.#job;
    const madeFrom = await sampleFingerprint(plan, index, this.#source, signal);
    const options = { sampleIndex: index, signal, onProgress, version: VERSION, cache: this.#cache };
    const reduced = await reducePlan(plan, this.#source, options);
    if (!reduced.ok) return reduced;
    onProgress(1, "writing");
    const files = await buildOutputs(reduced.value, plan.outputs ?? OUTPUT_KINDS, { writeHdf5, rasterise }, signal);
    if (!files.ok) return files;
    signal.throwIfAborted();
    const place = join(out, folder);
    const written = await writeOutputFolder(place, files.value, force, madeFrom);
    if (!written.ok) return written;
    const curve = overviewCurve(reduced.value);
    return success({
      summary: reductionSummary(reduced.value),
      text: describeForPeople(reduced.value, place),
      ...(curve && { curve }),
    });
  }
}

function describeForPeople(reduction: Reduction, out: string): string {
  const { x, y, xSigma, ySigma, method } = reduction.beamCentre;
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
