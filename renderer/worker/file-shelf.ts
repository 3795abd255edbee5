import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex } from "@noble/hashes/utils.js";
import { failure, type Result, success } from "../../core/model/result.ts";
import { blobSource } from "./blob-source.ts";
import type { BlobSource } from "./open-hdf5.ts";

/** Bytes that go into the fingerprint at once. */
const PIECE = 4 * 1024 * 1024;

export interface ShelvedFile {
  readonly path: string;
  /** Changes with the content. */
  readonly stamp: string;
  readonly source: BlobSource;
}

/** The files that the window brought, by the path that plans name them with. */
export class FileShelf {
  readonly #files = new Map<string, ShelvedFile>();
  readonly #digests = new Map<string, string>();

  /** @returns true where the path stood for another content before */
  put(path: string, stamp: string, name: string, blob: Blob): boolean {
    const before = this.#files.get(path);
    this.#files.set(path, { path, stamp, source: blobSource(name, blob) });
    return before !== undefined && before.stamp !== stamp;
  }

  drop(path: string): void {
    const file = this.#files.get(path);
    this.#files.delete(path);
    if (file !== undefined) this.#digests.delete(digestKey(file));
  }

  find(path: string): Result<ShelvedFile> {
    const file = this.#files.get(path);
    if (file !== undefined) return success(file);
    return failure("missing", `${path} is not at hand: drop it on the window`, { file: path });
  }

  /** SHA-256 in hex, computed once a content. */
  async digest(file: ShelvedFile, signal: AbortSignal): Promise<string> {
    const { source } = file;
    const key = digestKey(file);
    const known = this.#digests.get(key);
    if (known !== undefined) return known;
    const hash = sha256.create();
    for (let start = 0; start < source.size; start += PIECE) {
      signal.throwIfAborted();
      hash.update(await source.read(start, Math.min(source.size, start + PIECE)));
    }
    const digest = bytesToHex(hash.digest());
    this.#digests.set(key, digest);
    return digest;
  }
}

function digestKey({ path, stamp }: ShelvedFile): string {
  return `${path} ${stamp}`;
}
