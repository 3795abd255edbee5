import type { StoreApi } from "zustand/vanilla";
import { pointOfPixel } from "../state/lamp.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { ArrayPoint, CurvePoint } from "../view-types.ts";
import type { WorkerClient } from "../worker/worker-client.ts";

/** Links pointer, pixels and points. The maps of bins are asked for when they are first needed. */
export class LampKeeper {
  readonly #results: StoreApi<ResultsStore>;
  readonly #client: WorkerClient;
  readonly #asked = new Set<string>();

  constructor(results: StoreApi<ResultsStore>, client: WorkerClient) {
    this.#results = results;
    this.#client = client;
  }

  /** The pointer is over a pixel of the frame: light its point on the curve `averageId`. */
  overPixel(pixel: ArrayPoint | undefined, averageId: string | undefined): void {
    const { set, reduction } = this.#results.getState();
    const average = [...(reduction?.curves ?? []), ...(reduction?.profiles ?? [])].find(({ id }) => id === averageId);
    if (pixel === undefined || reduction === undefined || average === undefined) {
      set({ pixel, lamp: undefined });
      return;
    }
    const bins = this.#bins(average.id);
    const place = Math.round(pixel.y) * reduction.frame.width + Math.round(pixel.x);
    set({ pixel, lamp: bins === undefined ? undefined : pointOfPixel(average, bins, place) });
  }

  /** The pointer is at a point of a curve: light its pixels. */
  overPoint(point: CurvePoint | undefined): void {
    if (point !== undefined) this.#bins(point.key);
    this.#results.getState().set({ lamp: point });
  }

  #bins(averageId: string): Int32Array | undefined {
    const { reduction, binMaps } = this.#results.getState();
    if (reduction === undefined) return undefined;
    if (binMaps.serial === reduction.serial && averageId in binMaps.maps) return binMaps.maps[averageId];
    void this.#fetch(averageId, reduction.serial);
    return undefined;
  }

  async #fetch(averageId: string, serial: number): Promise<void> {
    const question = `${serial}:${averageId}`;
    if (this.#asked.has(question)) return;
    this.#asked.add(question);
    const answer = await this.#client.ask("bin-map", { averageId });
    this.#asked.delete(question);
    const { set, reduction, binMaps } = this.#results.getState();
    // A newer reduction has other bins: what came for the old one is of no use.
    if (!answer.ok || answer.value.serial !== reduction?.serial) return;
    const kept = binMaps.serial === answer.value.serial ? binMaps.maps : {};
    set({ binMaps: { serial: answer.value.serial, maps: { ...kept, [averageId]: answer.value.bins } } });
  }
}
