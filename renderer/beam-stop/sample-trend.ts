import type { StoreApi } from "zustand/vanilla";
import type { DocumentStore } from "../state/document-store.ts";
import { baseName } from "../state/plan-file.ts";
import { referencePath, samplesOf } from "../state/plan-reading.ts";
import type { BeamStopStore } from "./beam-stop-store.ts";
import type { StopAssessor } from "./stop-assessor.ts";
import { type TrendPoint, trendPoint } from "./trend.ts";

/** A batch of more samples than this is not judged unasked. */
const MOST_SAMPLES = 100;
/** The plan has to rest for this long, ms: every step of a drag changes it. */
const REST_MS = 400;

/** Keeps the trend over the samples of the plan, while the beam-stop question is on show and no folder is watched. */
export class SampleTrend {
  readonly #document: StoreApi<DocumentStore>;
  readonly #store: StoreApi<BeamStopStore>;
  readonly #assessor: StopAssessor;
  readonly #shown: () => Promise<void>;
  #timer: ReturnType<typeof setTimeout> | undefined;
  /** Counts the tries: an older one gives up. */
  #turn = 0;

  constructor(parts: {
    readonly document: StoreApi<DocumentStore>;
    readonly store: StoreApi<BeamStopStore>;
    readonly assessor: StopAssessor;
    readonly shown: () => Promise<void>;
  }) {
    this.#document = parts.document;
    this.#store = parts.store;
    this.#assessor = parts.assessor;
    this.#shown = parts.shown;
  }

  start(): void {
    this.#document.subscribe((state, before) => {
      const moved =
        state.history?.present !== before.history?.present ||
        state.view.question !== before.view.question ||
        state.view.stopLimits !== before.view.stopLimits;
      if (moved) this.#later();
    });
    this.#store.subscribe((state, before) => {
      if (state.watched !== before.watched || state.watch?.id !== before.watch?.id) this.#later();
    });
    this.#later();
  }

  #later(): void {
    clearTimeout(this.#timer);
    this.#turn++;
    this.#timer = setTimeout(() => void this.#run(this.#turn), REST_MS);
  }

  async #run(turn: number): Promise<void> {
    const { history, view } = this.#document.getState();
    const { watch, watched } = this.#store.getState();
    if (watch !== undefined || watched !== undefined || view.question !== "beam-stop") return;
    const tree = history?.present;
    const samples = tree === undefined ? [] : samplesOf(tree.plan).map(referencePath);
    if (tree === undefined || samples.length < 2 || samples.length > MOST_SAMPLES) {
      this.#store.getState().set({ trend: [] });
      return;
    }
    // What the person looks at comes first.
    await this.#shown();
    const points: TrendPoint[] = [];
    for (const [i, path] of samples.entries()) {
      const answer = await this.#assessor.assess(tree, i, "trend");
      if (turn !== this.#turn) return;
      points.push(trendPoint(i, baseName(path), answer.ok ? answer.value : undefined));
      this.#store.getState().set({ trend: [...points] });
    }
  }
}
