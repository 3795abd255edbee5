import type { FileToken, HostContract } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { PlanFile } from "../state/plan-file.ts";
import type { WorkerClient } from "../worker/worker-client.ts";

/** Bytes asked of the host at once: large enough to be quick, small enough to cross between processes smoothly. */
const PIECE = 4 * 1024 * 1024;

/** Brings the bytes of files to the worker, once each, whether they lie with the host or were dropped on the window. */
export class FileDelivery {
  readonly #host: HostContract;
  readonly #client: WorkerClient;
  readonly #dropped = new Map<string, File>();
  /** By path: what the worker has, or is being given. */
  readonly #given = new Map<string, { readonly stamp: string; readonly done: Promise<Result<undefined>> }>();

  constructor(host: HostContract, client: WorkerClient) {
    this.#host = host;
    this.#client = client;
  }

  /** Takes a dropped file into care; the key stands for it in the document. */
  keep(file: File): string {
    const key = `${file.name}:${file.size}:${file.lastModified}`;
    this.#dropped.set(key, file);
    return key;
  }

  /** The worker was started again and knows nothing. */
  forget(): void {
    this.#given.clear();
  }

  deliver(file: PlanFile): Promise<Result<undefined>> {
    const stamp = stampOf(file);
    const given = this.#given.get(file.path);
    if (given?.stamp === stamp) return given.done;
    const done = this.#give(file, stamp).then((result) => {
      // A file that couldn't be had is asked for again the next time.
      if (!result.ok && this.#given.get(file.path)?.stamp === stamp) this.#given.delete(file.path);
      return result;
    });
    this.#given.set(file.path, { stamp, done });
    return done;
  }

  /** The worker need not keep the file any longer. */
  async drop(path: string): Promise<void> {
    if (this.#given.delete(path)) await this.#client.ask("drop-file", { path });
  }

  /** The whole of a small file: a plan. */
  async readAll(file: Pick<PlanFile, "name" | "size" | "origin">): Promise<Result<Blob>> {
    const { origin } = file;
    switch (origin.kind) {
      case "lost":
        return failure("missing", origin.reason, { file: file.name });
      case "dropped": {
        const dropped = this.#dropped.get(origin.key);
        if (dropped !== undefined) return success(dropped);
        return failure("missing", `${file.name} is no longer at hand; drop it on the window again`, {
          file: file.name,
        });
      }
      case "inline":
        return success(new Blob([Uint8Array.from(atob(origin.base64), (letter) => letter.charCodeAt(0))]));
      case "host":
        return this.#readFromHost(origin.token, file.size);
    }
  }

  async #give(file: PlanFile, stamp: string): Promise<Result<undefined>> {
    const blob = await this.readAll(file);
    if (!blob.ok) return blob;
    return this.#client.ask("give-file", { path: file.path, stamp, name: file.name, blob: blob.value });
  }

  async #readFromHost(token: FileToken, size: number): Promise<Result<Blob>> {
    const pieces: Uint8Array<ArrayBuffer>[] = [];
    for (let start = 0; start < size; start += PIECE) {
      const piece = await this.#host.readBytes(token, start, Math.min(size, start + PIECE));
      if (!piece.ok) return piece;
      pieces.push(piece.value);
    }
    return success(new Blob(pieces));
  }
}

function stampOf({ origin, size }: PlanFile): string {
  switch (origin.kind) {
    case "host":
      return `host:${origin.token}:${size}`;
    case "dropped":
      return `dropped:${origin.key}`;
    case "inline":
      return `inline:${origin.base64}`;
    case "lost":
      return "lost";
  }
}
