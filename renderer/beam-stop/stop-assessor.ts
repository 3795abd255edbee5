import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import { type Result, success } from "../../core/model/result.ts";
import { type StopLimits, stopPlan } from "../../core/plan/assess-stop.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import type { DocumentTree } from "../state/document-store.ts";
import { referencePath, runsOf, samplesOf } from "../state/plan-reading.ts";
import type { WorkerClient } from "../worker/worker-client.ts";

/** Reports that are kept: the samples of a plan, or the last frames of a watch. */
const MOST_KEPT = 256;

/** Asks for the report on a stop. It takes a fit, so the same question about the same frame is asked once. */
export class StopAssessor {
  readonly #client: WorkerClient;
  readonly #delivery: FileDelivery;
  readonly #limits: () => StopLimits;
  readonly #kept = new Map<string, BeamStopReport>();
  readonly #asking = new Map<string, Promise<Result<BeamStopReport>>>();

  constructor(client: WorkerClient, delivery: FileDelivery, limits: () => StopLimits) {
    this.#client = client;
    this.#delivery = delivery;
    this.#limits = limits;
  }

  /** @param slot a later question in the same slot takes the place of this one */
  async assess(tree: DocumentTree, sampleIndex: number, slot: string): Promise<Result<BeamStopReport>> {
    const limits = this.#limits();
    const key = assessmentKey(tree, sampleIndex, limits);
    const known = this.#kept.get(key);
    if (known !== undefined) return success(known);
    // Image and trend ask about the same frame at the same time.
    const shared = await this.#asking.get(key);
    if (shared !== undefined && (shared.ok || shared.fault.code !== "cancelled")) return shared;
    const asking = this.#ask(tree, sampleIndex, { key, limits, slot });
    this.#asking.set(key, asking);
    try {
      return await asking;
    } finally {
      if (this.#asking.get(key) === asking) this.#asking.delete(key);
    }
  }

  async #ask(
    tree: DocumentTree,
    sampleIndex: number,
    { key, limits, slot }: { readonly key: string; readonly limits: StopLimits; readonly slot: string },
  ): Promise<Result<BeamStopReport>> {
    for (const path of neededPaths(tree, sampleIndex)) {
      const file = tree.files[path];
      // A file that can't be had is left to the worker, whose fault then names the role that needs it.
      if (file !== undefined) await this.#delivery.deliver(file);
    }
    const answer = await this.#client.ask("assess-stop", { plan: tree.plan, sampleIndex, limits }, { slot });
    if (!answer.ok) return answer;
    this.#kept.set(key, answer.value);
    for (const [oldest] of this.#kept) {
      if (this.#kept.size <= MOST_KEPT) break;
      this.#kept.delete(oldest);
    }
    return answer;
  }
}

/** All that a report depends on, as text: averages and most corrections leave it as it is. */
export function assessmentKey(tree: DocumentTree, sampleIndex: number, limits: StopLimits): string {
  const { metadata, mask, beamCentre, corrections } = tree.plan;
  const { auto: _auto, ...drawn } = mask ?? {};
  const runs = runsOf(stopPlan(tree.plan)).filter(({ role }) => role !== "sample");
  const sample = samplesOf(tree.plan)[sampleIndex];
  const origins = neededPaths(tree, sampleIndex).map((path) => [
    path,
    tree.files[path]?.origin,
    tree.files[path]?.size,
  ]);
  return JSON.stringify([metadata, drawn, beamCentre, corrections?.gravity, sample, runs, origins, limits]);
}

function neededPaths({ plan }: DocumentTree, sampleIndex: number): readonly string[] {
  const sample = samplesOf(plan)[sampleIndex];
  const others = runsOf(stopPlan(plan)).filter(({ role }) => role !== "sample");
  const paths = others.map(({ reference }) => referencePath(reference));
  if (sample !== undefined) paths.push(referencePath(sample));
  return plan.mask?.file === undefined ? paths : [...paths, plan.mask.file];
}
