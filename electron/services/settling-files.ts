/** Size and time of a file, by which two looks are compared. */
export interface FileStamp {
  readonly size: number;
  readonly mtimeMs: number;
}

export interface SeenFile extends FileStamp {
  readonly name: string;
}

export interface ReadyFile extends SeenFile {
  /** The same name was processed before, with another content. */
  readonly isReplacement: boolean;
  /** The reader's "incomplete" is not waited for any more: what is wrong must be told now. */
  readonly isLastTry: boolean;
}

interface Pending {
  readonly stamp: string;
  /** Look and time at which the file was first seen as it is now. */
  readonly look: number;
  readonly since: number;
  /** Reading it is tried again from here on, and for how long the next wait is. */
  readonly nextTry: number;
  readonly wait: number;
}

export interface SettlingOptions {
  /** A file rests for this long, over two looks at least, before it is taken for complete, ms. */
  readonly settleMs: number;
  /** A file that rests but reads as incomplete is given up after this, ms. */
  readonly patienceMs: number;
}

/** Numbers in names count as numbers: frame-9 comes before frame-10. */
const byName = new Intl.Collator("en", { numeric: true });

export function stampText({ size, mtimeMs }: FileStamp): string {
  return `${size} ${mtimeMs}`;
}

/**
 * Decides from look to look which files of a folder are complete, and hands out each once a content, in the order in
 * which they were written. Knows nothing of a disk or a clock.
 *
 * Memory: one stamp for each file that was ever processed, and a record for each that is not yet.
 */
export class SettlingFiles {
  readonly #options: SettlingOptions;
  readonly #done: Map<string, string>;
  readonly #pending = new Map<string, Pending>();
  #look = 0;

  /** @param done files that were processed earlier, with their stamps (`stampText`) */
  constructor(options: SettlingOptions, done: Iterable<readonly [string, string]> = []) {
    this.#options = options;
    this.#done = new Map(done);
  }

  /** Files that wait for their turn. Those that were processed are not among them. */
  isPending(name: string): boolean {
    return this.#pending.has(name);
  }

  isDone(name: string): boolean {
    return this.#done.has(name);
  }

  /**
   * What a look at the folder saw. Pending files that are not among `files` are gone; done ones may be left out.
   *
   * @param now ms, of a clock that never goes back
   * @returns the files that are complete by now; each must be answered by `finish`, `postpone` or `drop`
   */
  look(files: readonly SeenFile[], now: number): readonly ReadyFile[] {
    this.#look++;
    const there = new Set(files.map(({ name }) => name));
    for (const name of this.#pending.keys()) if (!there.has(name)) this.#pending.delete(name);
    const resting: SeenFile[] = [];
    let fresh: SeenFile | undefined;
    for (const file of files) {
      const stamp = stampText(file);
      if (this.#done.get(file.name) === stamp) {
        this.#pending.delete(file.name);
        continue;
      }
      const known = this.#pending.get(file.name);
      if (known?.stamp !== stamp) {
        const { settleMs } = this.#options;
        this.#pending.set(file.name, { stamp, look: this.#look, since: now, nextTry: now + settleMs, wait: settleMs });
        // Looks are not instants: a file that was missed the last time holds back those that were written after it.
        if (fresh === undefined || writtenBefore(file, fresh) < 0) fresh = file;
      } else if (this.#look > known.look && now >= known.nextTry) resting.push(file);
    }
    const oldestFresh = fresh;
    return resting
      .filter((file) => oldestFresh === undefined || writtenBefore(file, oldestFresh) < 0)
      .sort(writtenBefore)
      .map((file) => ({
        ...file,
        isReplacement: this.#done.has(file.name),
        isLastTry: now - (this.#pending.get(file.name)?.since ?? now) >= this.#options.patienceMs,
      }));
  }

  /** The file was processed as `stamp` says it was. */
  finish({ name, size, mtimeMs }: SeenFile): void {
    this.#pending.delete(name);
    this.#done.set(name, stampText({ size, mtimeMs }));
  }

  /** The file reads as incomplete: it is tried again when it changes, and ever more seldom while it does not. */
  postpone(name: string, now: number): void {
    const known = this.#pending.get(name);
    if (known === undefined) return;
    const wait = known.wait * 2;
    const last = known.since + this.#options.patienceMs;
    this.#pending.set(name, { ...known, wait, nextTry: now < last ? Math.min(now + wait, last) : now + wait });
  }

  /** The file is gone, or has changed since the look: the next look decides. */
  drop(name: string): void {
    this.#pending.delete(name);
  }
}

function writtenBefore(a: SeenFile, b: SeenFile): number {
  return a.mtimeMs - b.mtimeMs || byName.compare(a.name, b.name);
}
