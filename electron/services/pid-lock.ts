import { open, readFile, rm } from "node:fs/promises";
import { hostname, uptime } from "node:os";
import { type Fault, type Result, success } from "../../core/model/result.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";

export interface Holder {
  readonly pid: number;
  readonly host: string;
  readonly since: string;
}

export type LockAttempt =
  | { readonly kind: "taken"; readonly lock: PidLock }
  /** By whom; undefined: it changed hands while it was looked at. */
  | { readonly kind: "held"; readonly holder: Holder | undefined }
  | { readonly kind: "failed"; readonly fault: Fault };

/** Locks of this process: a file that names our own process number and isn't among them was left by a dead one. */
const ours = new Set<string>();

/** A file that keeps something for one process. */
export class PidLock {
  readonly #file: string;

  private constructor(file: string) {
    this.#file = file;
  }

  /** Takes the lock. One that a process of this machine left behind when it died is taken over. */
  static async take(file: string): Promise<LockAttempt> {
    const own: Holder = { pid: process.pid, host: hostname(), since: new Date().toISOString() };
    for (let attempt = 0; attempt < 2; attempt++) {
      const made = await make(file, own);
      if (!made.ok) return failed(made);
      if (made.value) {
        ours.add(file);
        return { kind: "taken", lock: new PidLock(file) };
      }
      const holder = await holderOf(file);
      if (holder !== undefined && isAlive(holder, file)) return { kind: "held", holder };
      try {
        await rm(file, { force: true });
      } catch (error) {
        return failed(ioFault("write", file, error));
      }
    }
    return { kind: "held", holder: undefined };
  }

  async release(): Promise<void> {
    await rm(this.#file, { force: true });
    ours.delete(this.#file);
  }
}

function failed(result: Result<unknown>): LockAttempt {
  if (result.ok) throw new RangeError("a success is no reason to fail");
  return { kind: "failed", fault: result.fault };
}

/** False: it is there already. */
async function make(file: string, own: Holder): Promise<Result<boolean>> {
  try {
    // "wx": of two that come at once only one makes the file.
    const handle = await open(file, "wx", 0o644);
    try {
      await handle.writeFile(`${JSON.stringify(own)}\n`);
    } finally {
      await handle.close();
    }
    return success(true);
  } catch (error) {
    return hasErrorCode(error) && error.code === "EEXIST" ? success(false) : ioFault("write", file, error);
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
function isAlive({ pid, host, since }: Holder, file: string): boolean {
  if (host !== hostname()) return true;
  if (pid === process.pid) return ours.has(file);
  // Process numbers begin anew with the machine.
  if (Date.parse(since) < Date.now() - uptime() * 1000) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // EPERM: it is there, and somebody else's.
    return hasErrorCode(error) && error.code !== "ESRCH";
  }
}
