import type { StoreApi } from "zustand/vanilla";
import { createStore } from "zustand/vanilla";
import { describeFault } from "../../core/model/result.ts";
import type { RunReference } from "../../core/plan/plan.ts";
import type { ReductionLoop } from "../app/reduction-loop.ts";
import type { BeamStopStore } from "../beam-stop/beam-stop-store.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { PlanFiles } from "../state/plan-file.ts";
import type { ResultsStore } from "../state/results-store.ts";
import {
  FLIP_AXES,
  type FlipAxis,
  type FlipPlace,
  type FlipRow,
  flipRow,
  isSamePlace,
  placeOf,
  referenceAt,
} from "./flip-places.ts";
import type { FrameReader } from "./frame-reader.ts";
import type { ReadFrame } from "./frame-store.ts";

/** Frames that are read ahead in the direction of leafing, and one behind. */
const AHEAD = [1, 2, 3, -1];
/** A stay of this long is a stop: the plan then runs on the frame that is shown, ms. */
const STAY = 160;

export interface FlipState {
  /** Where a person has leafed to; undefined: the results are up with the view. */
  readonly place: FlipPlace | undefined;
  /** The counts there, as soon as they are read. */
  readonly frame: ReadFrame | undefined;
}

interface Parts {
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly beamStop: StoreApi<BeamStopStore>;
  readonly frames: Pick<FrameReader, "peek" | "read">;
  readonly loop: Pick<ReductionLoop, "idle">;
}

/**
 * Leafing through frames: the counts of a place are shown at once, from frames that were read ahead, and the plan runs
 * on the place where one stays.
 */
export class FlipKeeper {
  readonly store = createStore<FlipState>()(() => ({ place: undefined, frame: undefined }));
  readonly #parts: Parts;
  #direction = 1;
  #staying: ReturnType<typeof setTimeout> | undefined;

  constructor(parts: Parts) {
    this.#parts = parts;
  }

  start(): void {
    this.#parts.document.subscribe((state, before) => {
      if (state.history === undefined || state.history.present.files !== before.history?.present.files) this.#leave();
    });
  }

  /** The rows that can be leafed through now: the frames of a stack come first. */
  rows(): readonly FlipRow[] {
    const { document, results, beamStop } = this.#parts;
    const { history } = document.getState();
    if (history === undefined || beamStop.getState().watched !== undefined) return [];
    return FLIP_AXES.flatMap((axis) => {
      const row = flipRow(axis, history.present.plan, this.place(), results.getState().runs);
      return row === undefined ? [] : [row];
    });
  }

  /** Where we are: leafed to, or on show. */
  place(): FlipPlace {
    const { sampleIndex, stackFrame } = this.#parts.document.getState().view;
    return this.store.getState().place ?? { sampleIndex, stackFrame };
  }

  /** @param axis undefined: the frames of a stack, or else the runs */
  step(by: number, axis?: FlipAxis): void {
    const row = this.rows().find((entry) => axis === undefined || entry.axis === axis);
    if (row !== undefined) this.go(row, row.at + by);
  }

  go(row: FlipRow, index: number): void {
    const from = this.place();
    const place = placeOf(row, index, from);
    if (isSamePlace(place, from)) return;
    this.#direction = index >= row.at ? 1 : -1;
    const frame = this.#frameAt(place);
    this.store.setState(frame === undefined ? { place } : { place, frame });
    void this.#read(place);
    clearTimeout(this.#staying);
    this.#staying = setTimeout(() => void this.#stay(place), STAY);
  }

  #frameAt(place: FlipPlace): ReadFrame | undefined {
    const named = this.#named(place);
    return named === undefined ? undefined : this.#parts.frames.peek(named.reference, named.files);
  }

  /** The counts of a place, then those of its neighbours, one after the other while nothing else is wanted. */
  async #read(place: FlipPlace): Promise<void> {
    await this.#fetch(place, true);
    for (const ahead of AHEAD) {
      const wanted = this.store.getState().place ?? this.place();
      if (!isSamePlace(wanted, place)) return;
      const [row] = this.rows();
      if (row === undefined) return;
      await this.#fetch(placeOf(row, row.at + ahead * this.#direction, wanted), false);
    }
  }

  async #fetch(place: FlipPlace, isShown: boolean): Promise<void> {
    const { frames, results } = this.#parts;
    const named = this.#named(place);
    if (named === undefined) return;
    const answer = await frames.read(named.reference, named.files);
    const { place: now } = this.store.getState();
    const isThere = now !== undefined && isSamePlace(now, place);
    // A frame that comes late is shown only where one still is.
    if (answer.ok && isThere) this.store.setState({ frame: answer.value });
    if (!answer.ok && isShown && answer.fault.code !== "cancelled")
      results.getState().notify("fault", describeFault(answer.fault));
  }

  async #stay(place: FlipPlace): Promise<void> {
    const { document, loop, results } = this.#parts;
    document.getState().show({ ...place, selectedRun: undefined });
    await loop.idle();
    const { place: now } = this.store.getState();
    // Where the plan can't run on this frame, its counts stay on show beside the fault.
    if (now !== undefined && isSamePlace(now, place) && results.getState().fault === undefined) this.#leave();
  }

  #leave(): void {
    clearTimeout(this.#staying);
    if (this.store.getState().place !== undefined) this.store.setState({ place: undefined, frame: undefined });
  }

  #named(place: FlipPlace): { readonly reference: RunReference; readonly files: PlanFiles } | undefined {
    const tree = this.#parts.document.getState().history?.present;
    const reference = tree === undefined ? undefined : referenceAt(tree.plan, place);
    return tree === undefined || reference === undefined ? undefined : { reference, files: tree.files };
  }
}
