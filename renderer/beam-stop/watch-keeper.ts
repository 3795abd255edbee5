import type { StoreApi } from "zustand/vanilla";
import type { BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import type { FolderWatch, HostEvents, WindowHost } from "../../core/host-contract.ts";
import { describeFault, type Fault, type Result } from "../../core/model/result.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { PlanFile } from "../state/plan-file.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { BeamStopStore } from "./beam-stop-store.ts";
import type { StopAssessor } from "./stop-assessor.ts";
import { readTrendPoint, trendPoint, withPoint } from "./trend.ts";
import { changeOfVerdict, notifyChange, soundChange } from "./verdict-change.ts";
import { watchedTree } from "./watched-tree.ts";

type Arrival = HostEvents["frameArrived"];

export interface WatchParts {
  readonly host: WindowHost;
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly store: StoreApi<BeamStopStore>;
  readonly delivery: FileDelivery;
  readonly assessor: StopAssessor;
  /** Opens a frame as a document of its own, where none is open. */
  readonly openFirst: (arrival: Arrival["file"]) => Promise<void>;
  /** Resolves when image and curve show what the stores hold. */
  readonly shown: () => Promise<void>;
}

/**
 * Follows a folder: each frame that arrives is judged, in order, and enters the trend; image and curve show the newest.
 * What arrives while a frame is judged waits; only its names are held.
 */
export class WatchKeeper {
  readonly #parts: WatchParts;
  readonly #queue: Arrival[] = [];
  /** Frames that came before the host's answer told which watch they belong to. */
  #early: Arrival[] | undefined;
  #pumping = false;
  #count = 0;
  #verdict: BeamStopVerdict | undefined;
  /** Why the last frame could not be noted. */
  #unnoted: string | undefined;

  constructor(parts: WatchParts) {
    this.#parts = parts;
    const { host, store } = parts;
    host.on("frameArrived", (arrival) => this.#hear(arrival));
    host.on("watchTrouble", ({ watch, message }) => {
      const { watch: own, set } = store.getState();
      if (own?.id === watch) set({ watch: { ...own, trouble: message ?? undefined } });
    });
  }

  /** @param folder in the host's start folder; undefined: the person picks one */
  async start(folder: string | undefined): Promise<void> {
    const { host } = this.#parts;
    await this.#begin(() => host.watchFolder(folder), folder === undefined);
  }

  /** Looks whether a watch was on when the program ended last. */
  async look(): Promise<void> {
    const { host, store } = this.#parts;
    const last = await host.lastWatch();
    if (!last.ok) this.#tell(last.fault);
    else if (store.getState().watch === undefined) store.getState().set({ resumable: last.value });
  }

  /** Goes on with the last watch, where it was. */
  async resume(): Promise<void> {
    const { host } = this.#parts;
    await this.#begin(() => host.resumeWatch(), false);
  }

  async #begin(watching: () => Promise<Result<FolderWatch>>, mayAsk: boolean): Promise<void> {
    const { store } = this.#parts;
    await this.stop();
    this.#early = [];
    const answer = await watching();
    const early = this.#early;
    this.#early = undefined;
    if (!answer.ok) {
      if (mayAsk && answer.fault.code === "unsupported") store.getState().set({ asksFolder: true });
      else this.#tell(answer.fault);
      return;
    }
    const { id, label, earlier } = answer.value;
    const trend = earlier.map(readTrendPoint).filter((point) => point !== undefined);
    this.#count = trend.at(-1)?.key ?? 0;
    this.#verdict = trend.findLast(({ verdict }) => verdict !== undefined)?.verdict;
    store.getState().set({
      watch: { id, label, waiting: 0, trouble: undefined },
      resumable: undefined,
      asksFolder: false,
      trend,
      change: undefined,
    });
    for (const arrival of early) this.#hear(arrival);
  }

  /** The last frame stays on show until the person goes back to the plan's own. */
  async stop(): Promise<void> {
    const { host, store } = this.#parts;
    const { watch, set } = store.getState();
    this.#queue.length = 0;
    if (watch === undefined) return;
    set({ watch: undefined });
    const stopped = await host.stopWatching(watch.id);
    if (!stopped.ok) this.#tell(stopped.fault);
    await this.look();
  }

  /** Shows the plan's own sample again. */
  backToPlan(): void {
    const { store, delivery } = this.#parts;
    const { watched, set } = store.getState();
    set({ watched: undefined, trend: [], change: undefined });
    if (watched !== undefined) void delivery.drop(watched.path);
  }

  #hear(arrival: Arrival): void {
    const { watch, set } = this.#parts.store.getState();
    if (this.#early !== undefined) this.#early.push(arrival);
    // Events go to every window of the host: a watch of another one is not ours.
    if (watch?.id !== arrival.watch) return;
    this.#queue.push(arrival);
    set({ watch: { ...watch, waiting: this.#queue.length } });
    if (!this.#pumping) void this.#pump();
  }

  async #pump(): Promise<void> {
    this.#pumping = true;
    try {
      for (let next = this.#queue.shift(); next !== undefined; next = this.#queue.shift()) {
        const { watch, set } = this.#parts.store.getState();
        if (watch !== undefined) set({ watch: { ...watch, waiting: this.#queue.length } });
        await this.#take(next);
      }
    } finally {
      this.#pumping = false;
    }
  }

  async #take({ file, watch, isReplacement }: Arrival): Promise<void> {
    const { host, document, store, delivery, assessor, openFirst, shown } = this.#parts;
    const { token, name, label, size } = file;
    if (document.getState().history === undefined) await openFirst(file);
    const { history } = document.getState();
    // It could not be opened, and that has been said.
    if (history === undefined) return;
    const frame: PlanFile = { path: label, name, label, size, origin: { kind: "host", token } };
    const answer = await assessor.assess(watchedTree(history.present, frame), 0, "watch");
    const { watch: now, watched: before, trend, set } = store.getState();
    if (now?.id !== watch) return;
    if (!answer.ok) this.#tell(answer.fault);
    const report = answer.ok ? answer.value : undefined;
    const shownName = isReplacement ? `${name}, replaced` : name;
    const point = trendPoint(++this.#count, shownName, report);
    const change = report && changeOfVerdict(name, this.#verdict, report);
    this.#verdict = report?.verdict ?? this.#verdict;
    set({ trend: withPoint(trend, point), ...(change && { change }) });
    const noted = await host.noteFrame(watch, name, JSON.stringify(point));
    // A full disk is told once, not with every frame.
    if (!noted.ok && noted.fault.message !== this.#unnoted) this.#tell(noted.fault);
    this.#unnoted = noted.ok ? undefined : noted.fault.message;
    const { stopSound, stopNotice } = document.getState().view;
    if (change !== undefined && stopSound) soundChange(change);
    if (change !== undefined && stopNotice) notifyChange(change);
    // Behind a burst the newest frame is worth showing, not each on the way.
    if (this.#queue.length > 0 && before !== undefined) {
      if (before.path !== frame.path) await delivery.drop(frame.path);
      return;
    }
    set({ watched: frame });
    await shown();
    if (before !== undefined && before.path !== frame.path) await delivery.drop(before.path);
  }

  #tell(fault: Fault): void {
    if (fault.code !== "cancelled") this.#parts.results.getState().notify("fault", describeFault(fault));
  }
}
