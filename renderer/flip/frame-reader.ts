import { type Result, success } from "../../core/model/result.ts";
import type { RunReference } from "../../core/plan/plan.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import type { PlanFiles } from "../state/plan-file.ts";
import { referencePath } from "../state/plan-reading.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import { FrameStore, type ReadFrame } from "./frame-store.ts";

/** Memory for frames, bytes: some 30 of 1024 x 1024 in single precision. */
const MOST_BYTES = 128 * 1024 * 1024;

/** Brings the counts of single frames from the worker, and keeps those seen last. */
export class FrameReader {
  readonly #client: Pick<WorkerClient, "ask">;
  readonly #delivery: Pick<FileDelivery, "deliver">;
  readonly #frames = new FrameStore(MOST_BYTES);
  readonly #reading = new Map<string, Promise<Result<ReadFrame>>>();

  constructor(parts: {
    readonly client: Pick<WorkerClient, "ask">;
    readonly delivery: Pick<FileDelivery, "deliver">;
  }) {
    this.#client = parts.client;
    this.#delivery = parts.delivery;
  }

  /** The worker lost everything. */
  restart(): void {
    this.#frames.clear();
    this.#reading.clear();
  }

  /** A frame that is at hand already. */
  peek(reference: RunReference, files: PlanFiles): ReadFrame | undefined {
    return this.#frames.get(keyOf(reference, files));
  }

  read(reference: RunReference, files: PlanFiles): Promise<Result<ReadFrame>> {
    const kept = this.peek(reference, files);
    if (kept !== undefined) return Promise.resolve(success(kept));
    const key = keyOf(reference, files);
    const reading = this.#reading.get(key) ?? this.#ask(key, reference, files);
    this.#reading.set(key, reading);
    return reading;
  }

  async #ask(key: string, reference: RunReference, files: PlanFiles): Promise<Result<ReadFrame>> {
    const file = files[referencePath(reference)];
    const given = file === undefined ? undefined : await this.#delivery.deliver(file);
    const answer = given?.ok === false ? given : await this.#client.ask("read-frame", { reference });
    this.#reading.delete(key);
    if (answer.ok) this.#frames.put(key, answer.value);
    return answer;
  }
}

/** Another content, or another way to read it, is another frame. */
function keyOf(reference: RunReference, files: PlanFiles): string {
  return JSON.stringify([reference, files[referencePath(reference)]?.origin]);
}
