import { Worker } from "node:worker_threads";
import type { Result } from "../../../core/model/result.ts";
import {
  type SampleJob,
  type SampleOptions,
  SampleReducer,
  type SampleResult,
  type SampleTask,
} from "./sample-reducer.ts";
import type { FromThread, ToThread } from "./thread.ts";

/** Who reduces samples, one at a time. */
export interface Hand {
  /** @throws for our own bugs, and the reason of the signal once it is aborted */
  reduce(task: SampleTask, options: SampleOptions): Promise<Result<SampleResult>>;
  close(): Promise<void>;
}

/** The process itself. */
export function ownHand(job: SampleJob): Hand {
  const reducer = new SampleReducer(job);
  return { reduce: (task, options) => reducer.reduce(task, options), close: async () => {} };
}

/** A thread of its own, started with its first sample, and anew after it broke. */
export class ThreadHand implements Hand {
  readonly #file: URL;
  readonly #job: SampleJob;
  #worker: Worker | undefined;

  /** @param file the built thread.ts */
  constructor(file: URL, job: SampleJob) {
    this.#file = file;
    this.#job = job;
  }

  async reduce(task: SampleTask, { signal, onProgress }: SampleOptions): Promise<Result<SampleResult>> {
    signal.throwIfAborted();
    this.#worker ??= new Worker(this.#file, { workerData: this.#job });
    const worker = this.#worker;
    const tell = (message: ToThread) => worker.postMessage(message);
    const stop = () => tell({ kind: "stop" });
    signal.addEventListener("abort", stop);
    let finish = () => {};
    try {
      const result = await new Promise<Result<SampleResult>>((resolve, reject) => {
        const onMessage = (message: FromThread) => {
          if (message.kind === "progress") onProgress(message.fraction, message.what);
          else if (message.kind === "done") resolve(message.result);
          else reject(new Error(message.message));
        };
        const onEnd = (why: unknown) => {
          this.#worker = undefined;
          reject(why instanceof Error ? why : new Error(`a thread ended with code ${why}`));
        };
        finish = () => {
          worker.off("message", onMessage).off("error", onEnd).off("exit", onEnd);
        };
        worker.on("message", onMessage).on("error", onEnd).on("exit", onEnd);
        tell({ kind: "task", task });
      });
      // It has cleaned up: the caller learns of the stop as it does from the process itself.
      signal.throwIfAborted();
      return result;
    } finally {
      signal.removeEventListener("abort", stop);
      finish();
    }
  }

  async close(): Promise<void> {
    await this.#worker?.terminate();
    this.#worker = undefined;
  }
}
