import { join } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { type Holder, PidLock } from "./pid-lock.ts";

export const WATCH_LOCK = "watch.lock";

/** Keeps an output folder for one process. */
export class FolderLock {
  readonly #lock: PidLock;

  private constructor(lock: PidLock) {
    this.#lock = lock;
  }

  /**
   * Takes the folder. A lock that a process of this machine left behind when it died is taken over.
   *
   * @param folder exists
   * @returns a fault that names the holder where there is one, or where the lock can't be written
   */
  static async take(folder: string): Promise<Result<FolderLock>> {
    const file = join(folder, WATCH_LOCK);
    const attempt = await PidLock.take(file);
    if (attempt.kind === "failed") return { ok: false, fault: attempt.fault };
    return attempt.kind === "taken" ? success(new FolderLock(attempt.lock)) : taken(folder, file, attempt.holder);
  }

  async release(): Promise<void> {
    await this.#lock.release();
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
