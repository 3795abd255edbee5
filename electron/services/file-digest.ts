import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { stat } from "node:fs/promises";

/** SHA-256 of files, each read through once for as long as its size and time stay the same. */
export class FileDigests {
  readonly #known = new Map<string, { readonly stamp: string; readonly sha256: string }>();

  /** @throws what the file system refuses; the reason of `signal` once it is aborted */
  async of(path: string, signal: AbortSignal): Promise<string> {
    const { size, mtimeMs } = await stat(path);
    const stamp = `${size} ${mtimeMs}`;
    const known = this.#known.get(path);
    if (known?.stamp === stamp) return known.sha256;
    const hash = createHash("sha256");
    for await (const piece of createReadStream(path, { highWaterMark: 2 ** 20 }) as AsyncIterable<Uint8Array>) {
      signal.throwIfAborted();
      hash.update(piece);
    }
    const sha256 = hash.digest("hex");
    this.#known.set(path, { stamp, sha256 });
    return sha256;
  }
}
