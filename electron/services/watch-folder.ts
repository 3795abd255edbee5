import { type FSWatcher, watch } from "node:fs";
import { readdir, stat } from "node:fs/promises";
import { join } from "node:path";
import { describeFault, type Result, success } from "../../core/model/result.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { type FileStamp, type ReadyFile, type SeenFile, SettlingFiles, stampText } from "./settling-files.ts";

/** A complete file of the folder. */
export interface Arrival extends ReadyFile {
  readonly path: string;
}

/** What came of an arrival: processed (well or not), not yet whole, or gone before it could be read. */
export type ArrivalOutcome = "done" | "incomplete" | "gone";

export interface WatchOptions {
  readonly folder: string;
  /** Time between two looks, ms. Changes that the system tells of bring a look forward. */
  readonly pollMs: number;
  /** A file that rests but reads as incomplete is given up after this, ms. */
  readonly patienceMs?: number;
  /** Files that were processed earlier, with their stamps. */
  readonly done?: Iterable<readonly [name: string, stamp: string]>;
  /** Files that are never looked at, besides hidden and temporary ones. */
  readonly leaveOut?: (path: string) => boolean;
  readonly signal: AbortSignal;
  /** One file at a time, each once a content. While it is at work no other look is taken. */
  readonly onArrival: (arrival: Arrival) => Promise<ArrivalOutcome>;
  /** The folder can't be read at the moment, and why; undefined: it can again. */
  readonly onTrouble?: (message: string | undefined) => void;
}

const PATIENCE_MS = 60_000;
/** Looks are brought forward by no more than to this part of the time between two. */
const SOONEST_LOOK = 1 / 4;
/** Processed files that a look compares with what they were; a longer list takes several looks. */
const DONE_A_LOOK = 1000;
/** Looks at files that run at once: a share answers each in its own time. */
const AT_ONCE = 16;
/** What programs call a file that they are still writing, and what is no frame in any format. */
const NOT_FRAMES = /^\.|~$|\.(tmp|temp|part|partial|filepart|crdownload|json|jsonl|lock)$/i;

/**
 * Watches a folder until `signal`: hands over each frame file that is complete, in the order in which they were written.
 * Complete: size and time the same over two looks, and no "incomplete" from `onArrival`. A file that changes later is
 * handed over again, as a replacement. The system's notices only make it quicker; on a share that gives none, looks alone
 * find everything, and a share that goes away is waited for.
 *
 * @returns a fault where the folder can't be read at the start
 */
export async function watchFolder(options: WatchOptions): Promise<Result<undefined>> {
  const { folder, pollMs, signal, onTrouble } = options;
  const settling = new SettlingFiles(
    { settleMs: pollMs, patienceMs: options.patienceMs ?? PATIENCE_MS },
    options.done ?? [],
  );
  const bell = new Bell(folder);
  let trouble: string | undefined;
  try {
    for (let turn = 0; !signal.aborted; turn++) {
      const files = await lookAt(options, settling, turn);
      if (files.ok) {
        if (trouble !== undefined) onTrouble?.(undefined);
        trouble = undefined;
        bell.hang();
        await handOver(options, settling, files.value);
      } else {
        if (turn === 0) return files;
        const message = describeFault(files.fault);
        if (message !== trouble) onTrouble?.(message);
        trouble = message;
        bell.takeDown();
      }
      await bell.wait(pollMs, signal);
    }
    return success(undefined);
  } finally {
    bell.takeDown();
  }
}

async function lookAt(
  { folder, leaveOut }: WatchOptions,
  settling: SettlingFiles,
  turn: number,
): Promise<Result<readonly SeenFile[]>> {
  let names: string[];
  try {
    const entries = await readdir(folder, { withFileTypes: true });
    // A link may lead to a file; what it is, the look at it tells.
    names = entries.filter((entry) => !entry.isDirectory()).map(({ name }) => name);
  } catch (error) {
    return ioFault("list", folder, error);
  }
  const stride = Math.ceil(names.length / DONE_A_LOOK);
  const wanted = names.filter((name, i) => {
    if (NOT_FRAMES.test(name) || leaveOut?.(join(folder, name)) === true) return false;
    return settling.isPending(name) || !settling.isDone(name) || (i + turn) % stride === 0;
  });
  const files: SeenFile[] = [];
  for (let start = 0; start < wanted.length; start += AT_ONCE) {
    const batch = wanted.slice(start, start + AT_ONCE);
    const stamps = await Promise.all(batch.map((name) => stampOf(join(folder, name))));
    for (const [i, name] of batch.entries()) {
      const stamp = stamps[i];
      if (stamp !== undefined) files.push({ name, ...stamp });
    }
  }
  return success(files);
}

async function handOver(
  { folder, signal, onArrival }: WatchOptions,
  settling: SettlingFiles,
  files: readonly SeenFile[],
): Promise<void> {
  for (const ready of settling.look(files, performance.now())) {
    if (signal.aborted) return;
    const path = join(folder, ready.name);
    const now = await stampOf(path);
    // In a burst the last of a look waits for the first: it may be another file by now.
    if (now === undefined || stampText(now) !== stampText(ready)) {
      settling.drop(ready.name);
      continue;
    }
    const outcome = await onArrival({ ...ready, path });
    if (outcome === "done") settling.finish(ready);
    else if (outcome === "incomplete") settling.postpone(ready.name, performance.now());
    else settling.drop(ready.name);
  }
}

/** Undefined where there is no file (any more), or where the share does not answer. */
async function stampOf(path: string): Promise<FileStamp | undefined> {
  try {
    const found = await stat(path);
    return found.isFile() ? { size: found.size, mtimeMs: found.mtimeMs } : undefined;
  } catch (error) {
    if (hasErrorCode(error)) return undefined;
    throw error;
  }
}

/** Rings when the system tells of a change in the folder; silent where it can't. */
class Bell {
  readonly #folder: string;
  #watcher: FSWatcher | undefined;
  #rang = false;
  #onRing: (() => void) | undefined;

  constructor(folder: string) {
    this.#folder = folder;
  }

  hang(): void {
    if (this.#watcher !== undefined) return;
    try {
      this.#watcher = watch(this.#folder, () => this.#ring());
      // Too many watches, a share without notices, the folder gone: the looks go on.
      this.#watcher.on("error", () => this.takeDown());
    } catch (error) {
      if (!hasErrorCode(error)) throw error;
    }
  }

  takeDown(): void {
    this.#watcher?.close();
    this.#watcher = undefined;
  }

  /** Until `pollMs` are over, or sooner after a ring or the signal. */
  async wait(pollMs: number, signal: AbortSignal): Promise<void> {
    await pause(pollMs * SOONEST_LOOK, signal);
    if (!this.#rang)
      await pause(pollMs * (1 - SOONEST_LOOK), signal, (wake) => {
        this.#onRing = wake;
      });
    this.#rang = false;
    this.#onRing = undefined;
  }

  #ring(): void {
    this.#rang = true;
    this.#onRing?.();
  }
}

function pause(ms: number, signal: AbortSignal, wakeable: (wake: () => void) => void = () => {}): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) {
      resolve();
      return;
    }
    const end = () => {
      clearTimeout(timer);
      signal.removeEventListener("abort", end);
      resolve();
    };
    const timer = setTimeout(end, ms);
    signal.addEventListener("abort", end, { once: true });
    wakeable(end);
  });
}
