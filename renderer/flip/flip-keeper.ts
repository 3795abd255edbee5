import type { StoreApi } from "zustand/vanilla";
import { createStore } from "zustand/vanilla";
import { describeFault } from "../../core/model/result.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import type { ReductionLoop } from "../app/reduction-loop.ts";
import type { BeamStopStore } from "../beam-stop/beam-stop-store.ts";
import type { DocumentStore, DocumentTree } from "../state/document-store.ts";
import { referencePath } from "../state/plan-reading.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
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
import { FrameStore, type ReadFrame } from "./frame-store.ts";

/** Memory for frames read ahead, bytes: some 30 of 1024 x 1024 in single precision. */
const MOST_BYTES = 128 * 1024 * 1024;
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
  readonly client: Pick<WorkerClient, "ask">;
  readonly delivery: Pick<FileDelivery, "deliver">;
  readonly loop: Pick<ReductionLoop, "idle">;
}

/**
 * Leafing through frames: the counts of a place are shown at once, from frames that were read ahead, and the plan runs
 * on the place where one stays.
 */
export class FlipKeeper {
  readonly store = createStore<FlipState>()(() => ({ place: undefined, frame: undefined }));
  readonly #parts: Parts;
  readonly #frames = new FrameStore(MOST_BYTES);
  readonly #reading = new Set<string>();
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

  /** The worker lost everything, or the files are others. */
  restart(): void {
    this.#frames.clear();
    this.#reading.clear();
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
    const key = this.#key(place);
    return key === undefined ? undefined : this.#frames.get(key);
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
    const { document, client, delivery, results } = this.#parts;
    const tree = document.getState().history?.present;
    const key = this.#key(place);
    const reference = tree === undefined ? undefined : referenceAt(tree.plan, place);
    if (tree === undefined || key === undefined || reference === undefined) return;
    if (this.#frames.has(key) || this.#reading.has(key)) return;
    this.#reading.add(key);
    const file = tree.files[referencePath(reference)];
    const given = file === undefined ? undefined : await delivery.deliver(file);
    const answer = given?.ok === false ? given : await client.ask("read-frame", { reference });
    this.#reading.delete(key);
    if (answer.ok) {
      this.#frames.put(key, answer.value);
      // A frame that comes late is shown only where one still is.
      const { place: now } = this.store.getState();
      if (now !== undefined && isSamePlace(now, place)) this.store.setState({ frame: answer.value });
    } else if (isShown && answer.fault.code !== "cancelled") {
      results.getState().notify("fault", describeFault(answer.fault));
    }
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

  #key(place: FlipPlace): string | undefined {
    const tree: DocumentTree | undefined = this.#parts.document.getState().history?.present;
    const reference = tree === undefined ? undefined : referenceAt(tree.plan, place);
    if (tree === undefined || reference === undefined) return undefined;
    return JSON.stringify([reference, tree.files[referencePath(reference)]?.origin]);
  }
}
