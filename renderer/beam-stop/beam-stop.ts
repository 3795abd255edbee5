import type { StoreApi } from "zustand/vanilla";
import type { WindowHost } from "../../core/host-contract.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import type { Opening } from "../app/opening.ts";
import type { ReductionLoop } from "../app/reduction-loop.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { BeamStopStore } from "./beam-stop-store.ts";
import { SampleTrend } from "./sample-trend.ts";
import type { StopAssessor } from "./stop-assessor.ts";
import { WatchKeeper } from "./watch-keeper.ts";

/** The beam-stop question: its store, and who fills it. */
export interface BeamStop {
  readonly store: StoreApi<BeamStopStore>;
  readonly watch: WatchKeeper;
  start(): void;
}

export function createBeamStop(parts: {
  readonly host: WindowHost;
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly store: StoreApi<BeamStopStore>;
  readonly delivery: FileDelivery;
  readonly assessor: StopAssessor;
  readonly opening: Opening;
  readonly loop: ReductionLoop;
}): BeamStop {
  const { store, opening, loop } = parts;
  const shown = () => loop.idle();
  const watch = new WatchKeeper({ ...parts, openFirst: (file) => opening.openFromHost([file]), shown });
  const trend = new SampleTrend({ ...parts, shown });
  const start = () => {
    trend.start();
    void watch.look();
  };
  return { store, watch, start };
}
