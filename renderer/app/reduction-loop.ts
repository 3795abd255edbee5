import type { StoreApi } from "zustand/vanilla";
import { averagesOf } from "../../core/plan/defaults.ts";
import type { Plan } from "../../core/plan/plan.ts";
import type { BeamStopStore } from "../beam-stop/beam-stop-store.ts";
import { assessmentKey, type StopAssessor } from "../beam-stop/stop-assessor.ts";
import { ShownTrees } from "../beam-stop/watched-tree.ts";
import type { DocumentStore, DocumentTree } from "../state/document-store.ts";
import { referencePath, runsOf, samplesOf } from "../state/plan-reading.ts";
import { faultInWords } from "../state/plan-words.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { ReductionAnswer, ReductionView } from "../worker/protocol.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import type { FileDelivery } from "./file-delivery.ts";

/**
 * Keeps the results up with the document. One question at a time goes to the worker, always about the newest plan. While
 * a centre, a sector or an annulus is dragged, fast sums answer; when it is let go, the exact plan runs.
 */
export class ReductionLoop {
  readonly #document: StoreApi<DocumentStore>;
  readonly #results: StoreApi<ResultsStore>;
  readonly #client: WorkerClient;
  readonly #delivery: FileDelivery;
  readonly #beamStop: StoreApi<BeamStopStore>;
  readonly #assessor: StopAssessor;
  readonly #trees = new ShownTrees();
  /** Who waits for the results to be up with the document. */
  readonly #waiting: (() => void)[] = [];
  #busy = false;
  #again = false;
  /** What the verdict on the stop was made from. */
  #assessed: string | undefined;
  /** What the reduction on show was made from. */
  #reduced: { readonly tree: DocumentTree; readonly sampleIndex: number } | undefined;

  constructor(
    document: StoreApi<DocumentStore>,
    results: StoreApi<ResultsStore>,
    client: WorkerClient,
    delivery: FileDelivery,
    { beamStop, assessor }: { readonly beamStop: StoreApi<BeamStopStore>; readonly assessor: StopAssessor },
  ) {
    this.#document = document;
    this.#results = results;
    this.#client = client;
    this.#delivery = delivery;
    this.#beamStop = beamStop;
    this.#assessor = assessor;
  }

  start(): void {
    this.#document.subscribe((state, before) => {
      const moved =
        state.history !== before.history ||
        state.view.sampleIndex !== before.view.sampleIndex ||
        state.view.stackFrame !== before.view.stackFrame;
      if (moved) this.wake();
      const asked = (view: DocumentStore["view"]) => `${view.field_deg} ${view.sectorHalfWidth_deg}`;
      const annuli = this.#results.getState().reduction?.profiles.length ?? 0;
      if (asked(state.view) !== asked(before.view) && annuli > 0) void this.#analyse();
      if (state.view.stopLimits !== before.view.stopLimits && this.#reduced !== undefined)
        void this.#assessStop(this.#reduced.tree, this.#reduced.sampleIndex);
    });
    this.#beamStop.subscribe((state, before) => {
      if (state.watched !== before.watched) this.wake();
    });
    this.wake();
  }

  /** The worker lost everything: compute again. */
  restart(): void {
    this.#reduced = undefined;
    this.#assessed = undefined;
    this.wake();
  }

  /** Resolves when the results are up with the document. */
  idle(): Promise<void> {
    return this.#busy ? new Promise((resolve) => this.#waiting.push(resolve)) : Promise.resolve();
  }

  wake(): void {
    if (this.#busy) {
      this.#again = true;
      return;
    }
    this.#busy = true;
    void this.#run();
  }

  async #run(): Promise<void> {
    try {
      do {
        this.#again = false;
        await this.#step();
      } while (this.#again);
    } finally {
      this.#busy = false;
      for (const resolve of this.#waiting.splice(0)) resolve();
    }
  }

  async #step(): Promise<void> {
    const { history, view } = this.#document.getState();
    if (history === undefined) {
      this.#reduced = undefined;
      this.#results.getState().set({ reduction: undefined, follow: undefined, fault: undefined });
      return;
    }
    const { watched } = this.#beamStop.getState();
    const { tree, sampleIndex } = this.#trees.of(history.present, view, watched);
    const reduced = this.#reduced;
    const sameSample = reduced?.sampleIndex === sampleIndex;
    if (sameSample && this.#isSame(reduced.tree, tree)) {
      this.#results.getState().set({ follow: undefined, fault: undefined });
      return;
    }
    const dragging = history.gesture !== undefined;
    if (dragging && sameSample && differsInDraggableOnly(reduced.tree.plan, tree.plan)) return this.#follow(tree.plan);
    return this.#reduce(tree, sampleIndex);
  }

  async #follow(plan: Plan): Promise<void> {
    const results = this.#results.getState();
    const given = plan.metadata?.all?.["beamCentre_px"];
    const moved = plan.beamCentre?.method === "given" && Array.isArray(given);
    const shown = results.reduction?.beamCentre;
    if (shown === undefined) return;
    const beamCentre = moved ? { x: given[0], y: given[1] } : { x: shown.x, y: shown.y };
    const answer = await this.#client.ask("follow", { beamCentre, averages: averagesOf(plan) });
    if (answer.ok) results.set({ follow: answer.value });
    else this.#tell(answer.fault);
  }

  async #reduce(tree: DocumentTree, sampleIndex: number): Promise<void> {
    const results = this.#results.getState();
    results.set({ working: { label: "Reading files" } });
    await Promise.all(this.#pathsOf(tree.plan).map((path) => this.#bring(tree, path)));
    const answer = await this.#client.ask(
      "reduce",
      { plan: tree.plan, sampleIndex, knownFrame: results.reduction?.frame.id },
      { onProgress: (working) => results.set({ working }), slot: "reduce" },
    );
    results.set({ working: undefined });
    if (answer.ok) {
      this.#reduced = { tree, sampleIndex };
      results.set({ reduction: withCounts(answer.value, results.reduction), follow: undefined, fault: undefined });
      if (answer.value.profiles.length > 0) void this.#analyse();
      void this.#assessStop(tree, sampleIndex);
    } else if (answer.fault.code !== "cancelled") {
      // What was found on another run says nothing of this one.
      const isOther = this.#reduced === undefined || sampleKey(this.#reduced) !== sampleKey({ tree, sampleIndex });
      if (isOther) this.#forget();
      results.set({ fault: answer.fault, follow: undefined });
    }
  }

  /** Takes the results off the show. */
  #forget(): void {
    this.#reduced = undefined;
    this.#assessed = undefined;
    this.#results.getState().set({ reduction: undefined, anisotropy: undefined, stop: undefined });
  }

  /** The harmonics of the annuli; of a reduction that is no longer on show they are dropped. */
  async #analyse(): Promise<void> {
    const { field_deg, sectorHalfWidth_deg } = this.#document.getState().view;
    const answer = await this.#client.ask("analyse", { field_deg, sectorHalfWidth_deg }, { slot: "analyse" });
    const { reduction, set } = this.#results.getState();
    if (answer.ok && answer.value.serial === reduction?.serial) set({ anisotropy: answer.value });
    else if (!answer.ok) this.#tell(answer.fault);
  }

  /** The verdict of a frame that is no longer on show is dropped. */
  async #assessStop(tree: DocumentTree, sampleIndex: number): Promise<void> {
    const key = assessmentKey(tree, sampleIndex, this.#document.getState().view.stopLimits);
    if (key === this.#assessed) return;
    this.#assessed = key;
    this.#results.getState().set({ stop: undefined });
    const answer = await this.#assessor.assess(tree, sampleIndex, "assess-stop");
    if (this.#assessed !== key) return;
    if (answer.ok) this.#results.getState().set({ stop: answer.value });
    else this.#tell(answer.fault);
  }

  /** Whether two documents make the same reduction: what stands beside it makes no difference. */
  #isSame(before: DocumentTree, after: DocumentTree): boolean {
    return (
      before.plan === after.plan && this.#pathsOf(after.plan).every((path) => before.files[path] === after.files[path])
    );
  }

  #pathsOf(plan: Plan): readonly string[] {
    const runs = runsOf(plan).map(({ reference }) => referencePath(reference));
    return plan.mask?.file === undefined ? runs : [...runs, plan.mask.file];
  }

  /** A file that can't be had is left to the worker, whose fault then names the role that needs it. */
  async #bring(tree: DocumentTree, path: string): Promise<void> {
    const file = tree.files[path];
    if (file !== undefined) await this.#delivery.deliver(file);
  }

  #tell(fault: Parameters<typeof faultInWords>[0]): void {
    if (fault.code !== "cancelled") this.#results.getState().notify("fault", faultInWords(fault));
  }
}

/** Which run is looked at, whatever is done with it. */
function sampleKey({ tree, sampleIndex }: { readonly tree: DocumentTree; readonly sampleIndex: number }): string {
  const sample = samplesOf(tree.plan)[sampleIndex];
  const path = sample === undefined ? undefined : referencePath(sample);
  return JSON.stringify([path, path === undefined ? undefined : tree.files[path]?.origin]);
}

/** Puts the counts that the window has already into an answer that came without. */
function withCounts(answer: ReductionAnswer, known: ReductionView | undefined): ReductionView {
  const counts = answer.frame.counts ?? known?.frame.counts;
  if (counts === undefined) throw new TypeError("a reduction came without the counts of its frame");
  return { ...answer, frame: { ...answer.frame, counts } };
}

/** True where the plans differ only in what fast sums can follow: the centre, and the averages. */
export function differsInDraggableOnly(before: Plan, after: Plan): boolean {
  const keys = new Set([...Object.keys(before), ...Object.keys(after)]) as Set<keyof Plan>;
  for (const key of keys) {
    if (before[key] === after[key] || key === "averages" || key === "beamCentre") continue;
    if (key !== "metadata") return false;
    if (JSON.stringify(withoutCentre(before)) !== JSON.stringify(withoutCentre(after))) return false;
  }
  return true;
}

function withoutCentre(plan: Plan): unknown {
  const { beamCentre_px: _centre, ...all } = plan.metadata?.all ?? {};
  return { ...plan.metadata, all };
}
