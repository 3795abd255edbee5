import { readdir } from "node:fs/promises";
import { basename, extname, join } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { WATCH_LOCK } from "./folder-lock.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { JsonLines, type JsonObject } from "./json-lines.ts";
import { type SeenFile, stampText } from "./settling-files.ts";

const JOURNAL = "watch-journal.jsonl";
const LOG = "watch.jsonl";
const JOURNAL_VERSION = 1;

/** What is known of a processed file: enough to go on after a crash, and to log it once. */
interface Entry {
  readonly sequence: number;
  readonly file: string;
  readonly size: number;
  readonly mtimeMs: number;
  /** Folder of its results, in the output folder. */
  readonly folder: string;
  /** Its line of the log. */
  readonly line: LogLine;
}

/** A line of the log; what else it holds is the caller's. */
export interface LogLine {
  readonly sequence: number;
  readonly [key: string]: unknown;
}

/**
 * What a watch has done, in its output folder: `watch-journal.jsonl` for the program, `watch.jsonl` for people. A file
 * is entered into the journal first; a line that a crash kept from the log is added when the watch goes on.
 */
export class WatchJournal {
  readonly #journal: JsonLines;
  readonly #log: JsonLines;
  readonly #done: Map<string, string>;
  /** Result folders by their name in small letters, since some disks don't tell capitals apart. */
  readonly #folders: Map<string, string>;
  #last: LogLine | undefined;

  private constructor(parts: {
    journal: JsonLines;
    log: JsonLines;
    done: Map<string, string>;
    folders: Map<string, string>;
    last: LogLine | undefined;
  }) {
    this.#journal = parts.journal;
    this.#log = parts.log;
    this.#done = parts.done;
    this.#folders = parts.folders;
    this.#last = parts.last;
  }

  /**
   * @param out     exists; empty, or the output of an earlier watch of the same folder
   * @param watched real path of the watched folder
   */
  static async open(out: string, watched: string): Promise<Result<WatchJournal>> {
    const free = await checkOut(out);
    if (!free.ok) return free;
    const done = new Map<string, string>();
    const folders = new Map<string, string>([JOURNAL, LOG].map((name) => [name, ""]));
    let header: JsonObject | undefined;
    let last: LogLine | undefined;
    const journal = await JsonLines.open(join(out, JOURNAL), (value) => {
      if (header === undefined) header = value;
      else {
        const entry = value as unknown as Entry;
        done.set(entry.file, stampText(entry));
        folders.set(entry.folder.toLowerCase(), entry.file);
        last = entry.line;
      }
    });
    if (!journal.ok) return journal;
    const stop = async (fault: Result<never>): Promise<Result<never>> => {
      await journal.value.close();
      return fault;
    };
    if (header === undefined) {
      const begun = await journal.value.append({ halationWatch: JOURNAL_VERSION, folder: watched });
      if (!begun.ok) return stop(begun);
    } else if (header["halationWatch"] !== JOURNAL_VERSION || header["folder"] !== watched) {
      const what =
        header["halationWatch"] === JOURNAL_VERSION ? `a watch of ${String(header["folder"])}` : "another version";
      return stop(failure("inconsistent", `--out ${out} belongs to ${what}: name another folder`, { field: "--out" }));
    }
    let logged = 0;
    const log = await JsonLines.open(join(out, LOG), ({ sequence }) => {
      if (typeof sequence === "number") logged = sequence;
    });
    if (!log.ok) return stop(log);
    if (last !== undefined && last.sequence > logged) {
      const added = await log.value.append(last);
      if (!added.ok) return stop(added);
    }
    return success(new WatchJournal({ journal: journal.value, log: log.value, done, folders, last }));
  }

  /** Files that were processed, with their stamps. */
  get done(): ReadonlyMap<string, string> {
    return this.#done;
  }

  /** The last line of the log, also of an earlier run. */
  get last(): LogLine | undefined {
    return this.#last;
  }

  get nextSequence(): number {
    return (this.#last?.sequence ?? 0) + 1;
  }

  /** Name of the result folder of a file: its own without the extension, numbered where another file has that. */
  folderFor(file: string): string {
    const name = basename(file, extname(file));
    for (let n = 1; ; n++) {
      const folder = n === 1 ? name : `${name}-${n}`;
      const owner = this.#folders.get(folder.toLowerCase());
      if (owner === undefined || owner === file) return folder;
    }
  }

  /** Enters a processed file and logs its line. */
  async enter({ name, size, mtimeMs }: SeenFile, folder: string, line: LogLine): Promise<Result<undefined>> {
    const entry: Entry = { sequence: line.sequence, file: name, size, mtimeMs, folder, line };
    const entered = await this.#journal.append(entry);
    if (!entered.ok) return entered;
    this.#done.set(name, stampText(entry));
    this.#folders.set(folder.toLowerCase(), name);
    this.#last = line;
    return this.#log.append(line);
  }

  async close(): Promise<void> {
    await this.#journal.close();
    await this.#log.close();
  }
}

/** A watch writes into a folder that is empty, or that an earlier watch has begun. */
async function checkOut(out: string): Promise<Result<undefined>> {
  try {
    const names = await readdir(out);
    if (names.includes(JOURNAL) || names.every((name) => name === WATCH_LOCK)) return success(undefined);
    return failure("inconsistent", `--out ${out} holds files of something else than a watch: name another folder`, {
      field: "--out",
    });
  } catch (error) {
    if (hasErrorCode(error) && error.code === "ENOENT") return success(undefined);
    return ioFault("list", out, error);
  }
}
