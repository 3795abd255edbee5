import { join } from "node:path";
import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { assessStop, type StopLimits } from "../../core/plan/assess-stop.ts";
import { outputsOf } from "../../core/plan/defaults.ts";
import { reduceInputs } from "../../core/plan/execute.ts";
import { loadInputs } from "../../core/plan/inputs.ts";
import { type Plan, RUN_ROLES } from "../../core/plan/plan.ts";
import { newReductionCache, type ReductionCache } from "../../core/plan/reduction-cache.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { writeOutputFolder } from "../services/output-folder.ts";
import { rasterise } from "../services/rasterise.ts";
import { FileRunSource } from "../services/run-source.ts";
import { VERSION } from "../services/version.ts";
import { writeHdf5 } from "../services/write-hdf5.ts";
import { fromPlanFolder, withSample } from "./plan-file.ts";

export interface FrameJob {
  readonly plan: Plan;
  /** What names in the plan start from. */
  readonly planFolder: string;
  readonly out: string;
  readonly limits: StopLimits;
}

/** Reduces frame after frame under one plan. The plan's other runs are read once. */
export class FrameReducer {
  readonly #job: FrameJob;
  readonly #cache: ReductionCache = newReductionCache();

  constructor(job: FrameJob) {
    this.#job = job;
  }

  /** Opens the plan's other runs and its mask: what is wrong with them is told before a frame comes. */
  async check(signal: AbortSignal): Promise<Result<undefined>> {
    const { plan, planFolder } = this.#job;
    const source = new FileRunSource(planFolder);
    for (const role of RUN_ROLES) {
      const reference = role === "sample" ? undefined : plan.runs[role];
      if (reference === undefined) continue;
      const opened = await source.openRun(reference, role, signal);
      if (!opened.ok) return opened;
      opened.value.run.close();
    }
    if (plan.mask?.file === undefined) return success(undefined);
    const mask = await source.openMask(plan.mask.file, signal);
    return mask.ok ? success(undefined) : mask;
  }

  /**
   * Judges and reduces one frame, and writes its folder.
   *
   * @param onProgress 0 to 1, and what is being done
   */
  async reduce(
    path: string,
    folder: string,
    { signal, onProgress }: { readonly signal: AbortSignal; readonly onProgress: (f: number, what: string) => void },
  ): Promise<Result<BeamStopReport>> {
    const { planFolder, out, limits } = this.#job;
    const plan = withSample(this.#job.plan, fromPlanFolder(planFolder, path));
    // A file that was replaced has the name of one that was read.
    for (const [key, { role }] of this.#cache.runs) if (role === "sample") this.#cache.runs.delete(key);
    const options = { signal, cache: this.#cache };
    const inputs = await loadInputs(plan, new FileRunSource(planFolder), options);
    if (!inputs.ok) return inputs;
    onProgress(0.4, "judging the stop");
    const report = assessStop(plan, inputs.value, limits);
    const reduced = reduceInputs(plan, inputs.value, { ...options, version: VERSION });
    if (!reduced.ok) return reduced;
    onProgress(0.7, "writing");
    const files = await buildOutputs(reduced.value, outputsOf(plan), { writeHdf5, rasterise }, signal);
    if (!files.ok) return files;
    signal.throwIfAborted();
    const written = await writeOutputFolder(join(out, folder), files.value, false);
    return written.ok ? success(report) : written;
  }
}

/** A mistake of ours in one frame: it is told like a fault, and the frames after it are still judged. */
export function ownFault(error: unknown, file: string): Result<never> {
  const message = error instanceof Error ? error.message : String(error);
  return failure("unsupported", `a fault of the program, not of this file: ${message}`, { file });
}
