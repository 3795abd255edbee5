import { open, readFile, rm } from "node:fs/promises";
import { hostname } from "node:os";
import { join } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";

export const WATCH_LOCK = "watch.lock";

interface Holder {
  readonly pid: number;
  readonly host: string;
  readonly since: string;
}

/** Keeps an output folder for one process. */
export class FolderLock {
  readonly #file: string;

  private constructor(file: string) {
    this.#file = file;
  }

  /**
   * Takes the folder. A lock that a process of this machine left behind when it died is taken over.
   *
   * @param folder exists
   * @returns a fault that names the holder where there is one, or where the lock can't be written
   */
  static async take(folder: string): Promise<Result<FolderLock>> {
    const file = join(folder, WATCH_LOCK);
    const own: Holder = { pid: process.pid, host: hostname(), since: new Date().toISOString() };
    for (let attempt = 0; attempt < 2; attempt++) {
      try {
        // "wx": of two that come at once only one makes the file.
        const handle = await open(file, "wx", 0o644);
        await handle.writeFile(`${JSON.stringify(own)}\n`);
        await handle.close();
        return success(new FolderLock(file));
      } catch (error) {
        if (!hasErrorCode(error) || error.code !== "EEXIST") return ioFault("write", file, error);
      }
      const holder = await holderOf(file);
      if (holder !== undefined && isAlive(holder)) return taken(folder, file, holder);
      try {
        await rm(file, { force: true });
      } catch (error) {
        return ioFault("write", file, error);
      }
    }
    return taken(folder, file, undefined);
  }

  async release(): Promise<void> {
    await rm(this.#file, { force: true });
  }
}

/** Undefined: the file went away, or a crash kept its holder from writing into it. */
async function holderOf(file: string): Promise<Holder | undefined> {
  try {
    const value = JSON.parse(await readFile(file, "utf8")) as Partial<Holder> | null;
    const { pid, host, since } = value ?? {};
    return typeof pid === "number" && typeof host === "string" ? { pid, host, since: String(since) } : undefined;
  } catch (error) {
    if (error instanceof SyntaxError || hasErrorCode(error)) return undefined;
    throw error;
  }
}

/** What another machine runs can't be seen from here: its lock holds. */
function isAlive({ pid, host }: Holder): boolean {
  if (host !== hostname()) return true;
  if (pid === process.pid) return true;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // EPERM: it is there, and somebody else's.
    return hasErrorCode(error) && error.code !== "ESRCH";
  }
}

function taken(folder: string, file: string, holder: Holder | undefined): Result<never> {
  const who = holder === undefined ? "another watch" : `process ${holder.pid} on ${holder.host} since ${holder.since}`;
  return failure(
    "inconsistent",
    `--out ${folder} is in use by ${who}: name another folder, or end that watch (if it runs no more, delete ${file})`,
    { field: "--out" },
  );
}
