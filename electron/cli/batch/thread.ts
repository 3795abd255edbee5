import { parentPort, workerData } from "node:worker_threads";
import { failure, type Result } from "../../../core/model/result.ts";
import { type SampleJob, SampleReducer, type SampleResult, type SampleTask } from "./sample-reducer.ts";

/** To the thread: a sample, or to stop the one that it is at. */
export type ToThread = { readonly kind: "task"; readonly task: SampleTask } | { readonly kind: "stop" };

export type FromThread =
  | { readonly kind: "progress"; readonly fraction: number; readonly what: string }
  | { readonly kind: "done"; readonly result: Result<SampleResult> }
  | { readonly kind: "broken"; readonly message: string };

const port = parentPort;
if (port === null) throw new Error("this file is the body of a thread");
const tell = (message: FromThread) => port.postMessage(message);
const reducer = new SampleReducer(workerData as SampleJob);
let current = new AbortController();

port.on("message", (message: ToThread) => {
  if (message.kind === "stop") return current.abort();
  current = new AbortController();
  void reduce(message.task, current.signal);
});

async function reduce(task: SampleTask, signal: AbortSignal): Promise<void> {
  try {
    const onProgress = (fraction: number, what: string) => tell({ kind: "progress", fraction, what });
    tell({ kind: "done", result: await reducer.reduce(task, { signal, onProgress }) });
  } catch (error) {
    if (signal.aborted) tell({ kind: "done", result: failure("cancelled", "stopped") });
    else tell({ kind: "broken", message: error instanceof Error ? error.message : String(error) });
  }
}
