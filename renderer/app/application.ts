import { createContext, useContext } from "react";
import { useStore } from "zustand";
import type { StoreApi } from "zustand/vanilla";
import type { HostInfo, WindowHost } from "../../core/host-contract.ts";
import { describeFault } from "../../core/model/result.ts";
import { type BeamStop, createBeamStop } from "../beam-stop/beam-stop.ts";
import { type BeamStopStore, createBeamStopStore } from "../beam-stop/beam-stop-store.ts";
import { StopAssessor } from "../beam-stop/stop-assessor.ts";
import { Copying } from "../copy/copying.ts";
import { CurvesQuestion } from "../curves-question/curves-question.ts";
import { type CurvesStore, createCurvesStore } from "../curves-question/curves-store.ts";
import { FlipKeeper } from "../flip/flip-keeper.ts";
import { FrameReader } from "../flip/frame-reader.ts";
import { WINDOW_ID } from "../host/index.ts";
import { createDocumentStore, type DocumentStore } from "../state/document-store.ts";
import { createResultsStore, type ResultsStore } from "../state/results-store.ts";
import type { FrameViewHandle } from "../view-types.ts";
import { processorShare } from "../worker/processor-share.ts";
import { startWorker } from "../worker/start-worker.ts";
import { restartWords, WorkerClient } from "../worker/worker-client.ts";
import { Exporting } from "./exporting.ts";
import { FileDelivery } from "./file-delivery.ts";
import { LampKeeper } from "./lamp-keeper.ts";
import { Opening } from "./opening.ts";
import { ReductionLoop } from "./reduction-loop.ts";
import { RunDescriber } from "./run-describer.ts";
import { SessionKeeper } from "./session-keeper.ts";

/** Everything that the window is made of, put together once. */
export interface Application {
  readonly host: WindowHost;
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly client: WorkerClient;
  readonly delivery: FileDelivery;
  readonly opening: Opening;
  readonly exporting: Exporting;
  readonly copying: Copying;
  readonly lamp: LampKeeper;
  readonly beamStop: BeamStop;
  readonly curves: CurvesQuestion;
  readonly frames: FrameReader;
  readonly flip: FlipKeeper;
  /** Gives up what the person waits for; the document stays as it is. */
  cancelWork(): void;
  /** The frame view while it is mounted. */
  readonly frame: { current: FrameViewHandle | null };
}

export function createApplication(host: WindowHost): Application & { start(): Promise<HostInfo | undefined> } {
  const document = createDocumentStore();
  const results = createResultsStore();
  const restarted = (reason: string): void => {
    results.getState().notify("fault", restartWords(reason));
    delivery.forget();
    describer.restart();
    frames.restart();
    loop.restart();
  };
  const client = new WorkerClient(startWorker, restarted, processorShare);
  const delivery = new FileDelivery(host, client);
  const parts = { host, document, results, client, delivery };
  const frames = new FrameReader(parts);
  const opening = new Opening({ ...parts, openCurves: (arrival) => curves.files.add(arrival) });
  const describer = new RunDescriber(parts);
  const assessor = new StopAssessor(client, delivery, () => document.getState().view.stopLimits);
  const store = createBeamStopStore();
  const loop = new ReductionLoop(document, results, client, delivery, { beamStop: store, assessor });
  const beamStop = createBeamStop({ ...parts, store, assessor, opening, loop });
  const flip = new FlipKeeper({ document, results, frames, beamStop: store, loop });
  const curves = new CurvesQuestion({ ...parts, store: createCurvesStore() });
  const keeper = new SessionKeeper({ host, window: WINDOW_ID, document, results });

  return {
    host,
    document,
    results,
    client,
    delivery,
    opening,
    exporting: new Exporting({ ...parts, beamStop: store }),
    beamStop,
    curves,
    frames,
    flip,
    copying: new Copying({ document, results, client, curves: curves.store }),
    lamp: new LampKeeper(results, client),
    cancelWork: () => {
      client.cancel("export");
      client.cancel("reduce");
      results.getState().set({ working: undefined });
    },
    frame: { current: null },
    start: async () => {
      const [info, launch, session] = await Promise.all([host.info(), host.launchRequest(), keeper.load()]);
      if (session !== undefined) document.getState().restore(undefined, session.view, false);
      const request = launch.ok ? launch.value : undefined;
      if (!launch.ok) results.getState().notify("fault", describeFault(launch.fault));
      const asked = request !== undefined && request.files.length > 0;
      // Files that were asked for win over the last session; the sample experiment doesn't.
      if (asked && !request.isSampleExperiment) await opening.launch(request);
      else if (session?.history !== undefined && !session.isSampleExperiment)
        document.getState().restore(session.history, session.view, false);
      else if (asked) await opening.launchAgain(request, session);
      host.on("filesOpened", (files) => void opening.openFromHost(files));
      loop.start();
      // The first curve comes first.
      void loop.idle().then(() => describer.start());
      keeper.start();
      beamStop.start();
      curves.start();
      flip.start();
      return info.ok ? info.value : undefined;
    },
  };
}

const ApplicationContext = createContext<Application | undefined>(undefined);
export const ApplicationProvider = ApplicationContext.Provider;

export function useApplication(): Application {
  const application = useContext(ApplicationContext);
  if (application === undefined) throw new TypeError("a panel stands outside the application");
  return application;
}

export function useDocument<T>(select: (state: DocumentStore) => T): T {
  return useStore(useApplication().document, select);
}

export function useResults<T>(select: (state: ResultsStore) => T): T {
  return useStore(useApplication().results, select);
}

export function useBeamStop<T>(select: (state: BeamStopStore) => T): T {
  return useStore(useApplication().beamStop.store, select);
}

export function useCurves<T>(select: (state: CurvesStore) => T): T {
  return useStore(useApplication().curves.store, select);
}
