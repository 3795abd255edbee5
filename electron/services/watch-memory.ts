import { access, rm } from "node:fs/promises";
import { join } from "node:path";
import type { Result } from "../../core/model/result.ts";
import { success } from "../../core/model/result.ts";
import { hasErrorCode } from "./io-fault.ts";
import { JsonLines, type JsonObject } from "./json-lines.ts";
import { type SeenFile, stampText } from "./settling-files.ts";

const VERSION = 1;
/** Frames whose notes are handed back: a longer trend isn't drawn. */
const MOST_NOTES = 5000;

/** A file that the window is through with, and what it notes of it. */
interface Entry {
  readonly file: string;
  readonly size: number;
  readonly mtimeMs: number;
  readonly note: string;
}

export interface RememberedWatch {
  readonly folder: string;
  /** Files with the stamps that they had when they were taken last. */
  readonly done: ReadonlyMap<string, string>;
  readonly notes: readonly string[];
  readonly frames: number;
}

/**
 * The last watch of a window, in the user's data folder: a line a frame that the window has judged, on the disk before the
 * next one. A crash loses at most the frame at work, which is then judged again.
 */
export class WatchMemory {
  readonly #file: string;
  #lines: JsonLines | undefined;

  constructor(userDataFolder: string) {
    this.#file = join(userDataFolder, "watch-memory.jsonl");
  }

  /** Undefined: no watch is remembered, or one of another version. */
  async recall(): Promise<Result<RememberedWatch | undefined>> {
    if (this.#lines === undefined && !(await isThere(this.#file))) return success(undefined);
    let header: JsonObject | undefined;
    const done = new Map<string, string>();
    const notes: string[] = [];
    let frames = 0;
    const opened = await JsonLines.open(this.#file, (value) => {
      if (header === undefined) {
        header = value;
        return;
      }
      const entry = value as unknown as Entry;
      done.set(entry.file, stampText(entry));
      notes.push(entry.note);
      if (notes.length > 2 * MOST_NOTES) notes.splice(0, notes.length - MOST_NOTES);
      frames++;
    });
    if (!opened.ok) return opened;
    await opened.value.close();
    const folder = header?.["folder"];
    if (header?.["halationWindowWatch"] !== VERSION || typeof folder !== "string") return success(undefined);
    return success({ folder, done, notes: notes.slice(-MOST_NOTES), frames });
  }

  /** Forgets the watch before and begins with this folder. */
  async begin(folder: string): Promise<Result<undefined>> {
    await this.close();
    await rm(this.#file, { force: true });
    const opened = await this.#open();
    return opened.ok ? opened.value.append({ halationWindowWatch: VERSION, folder }) : opened;
  }

  /** Enters a frame of the watch that was begun or recalled last. */
  async enter({ name, size, mtimeMs }: SeenFile, note: string): Promise<Result<undefined>> {
    const opened = await this.#open();
    return opened.ok ? opened.value.append({ file: name, size, mtimeMs, note } satisfies Entry) : opened;
  }

  async close(): Promise<void> {
    await this.#lines?.close();
    this.#lines = undefined;
  }

  async #open(): Promise<Result<JsonLines>> {
    if (this.#lines !== undefined) return success(this.#lines);
    const opened = await JsonLines.open(this.#file, () => undefined);
    if (opened.ok) this.#lines = opened.value;
    return opened;
  }
}

async function isThere(file: string): Promise<boolean> {
  try {
    await access(file);
    return true;
  } catch (error) {
    // What can't be read can't be gone on with; a new watch says why when it writes.
    if (hasErrorCode(error)) return false;
    throw error;
  }
}
