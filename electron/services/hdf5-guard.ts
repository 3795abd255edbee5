import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { MessageChannel, type MessagePort, receiveMessageOnPort, Worker } from "node:worker_threads";
import type { Hdf5Dataset, Hdf5File, Hdf5Group, NumericArray } from "../../core/formats/hdf5/hdf5-file.ts";
import type { OpenHdf5 } from "../../core/formats/reader.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { Hdf5Answer, Hdf5Answers, Hdf5Call, Hdf5ThreadData } from "./hdf5-calls.ts";
import { type PlacedFile, placeOnDisk } from "./open-hdf5.ts";
import { threadTime } from "./thread-time.ts";

/** How long the library may compute on one file, s, and how much longer for every 64 MiB of pixels that it delivers. */
export const COMPUTING_LIMIT_S = 5;
const S_PER_BYTE = 1 / 2 ** 26;
/** How long an answer may keep the thread waiting while it computes nothing: a share that no longer answers. */
const WAITING_LIMIT_S = 60;
const LOOK_EVERY_MS = 100;

/**
 * Opens HDF5 in a thread of its own, since damage can hold the library up without end, and no check of ours finds all of
 * it. The thread is ended then and a fault says so; files that were open in it have to be opened again. One thread serves
 * the whole program.
 * Measured on two busy cores: the first file takes 190 ms against 70 ms without, later ones as long as without (40 ms).
 */
export const openHdf5Guarded: OpenHdf5 = async (source) => {
  const placed = await placeOnDisk(source);
  if (!placed.ok) return placed;
  if (thread === undefined || thread.hasEnded) thread = new Hdf5Thread();
  const file = new GuardedFile(thread, placed.value);
  const opened = file.open();
  return opened.ok ? success(file) : opened;
};

let thread: Hdf5Thread | undefined;

// From the sources (tests) the thread is the one that was built: Node runs no TypeScript.
const THREAD_FILE = new URL(
  import.meta.url.endsWith(".ts") ? "../../dist/cli/hdf5-thread.js" : "./hdf5-thread.js",
  import.meta.url,
);

/** Why a thread had to end. */
interface Ending {
  readonly reason: string;
}

class Hdf5Thread {
  readonly #worker: Worker;
  readonly #port: MessagePort;
  readonly #shared = new Int32Array(new SharedArrayBuffer(8));
  #hasEnded = false;

  /** @throws where the program was not built: the thread's death would not be heard of while this thread sleeps */
  constructor() {
    if (!existsSync(THREAD_FILE)) throw new Error(`${fileURLToPath(THREAD_FILE)} is missing: npm run build makes it`);
    const { port1, port2 } = new MessageChannel();
    this.#port = port1;
    const workerData: Hdf5ThreadData = { port: port2, shared: this.#shared };
    // What the library prints of damaged files is in its answers too.
    this.#worker = new Worker(THREAD_FILE, { workerData, transferList: [port2], stdout: true, stderr: true });
    // An idle thread does not keep the program alive; reading its streams would, so they are left unread.
    this.#worker.unref();
    this.#worker.on("error", () => this.end());
    this.#worker.on("exit", () => this.end());
  }

  get hasEnded(): boolean {
    return this.#hasEnded;
  }

  /** Asks and sleeps until the answer is there, or the thread has computed for more than `allowance` seconds. */
  ask(call: Hdf5Call, allowance: number): { readonly answer: Hdf5Answer; readonly computed: number } | Ending {
    const before = Atomics.load(this.#shared, 0);
    const clock = this.#startClock();
    let computedBefore = 0;
    let restsSince = performance.now();
    this.#port.postMessage(call);
    // The number decides, not how the waiting ended: the call that woke this thread for the answer before may come late.
    while (Atomics.load(this.#shared, 0) === before) {
      if (Atomics.wait(this.#shared, 0, before, LOOK_EVERY_MS) !== "timed-out") continue;
      const computing = clock();
      const now = performance.now();
      if (computing > computedBefore) restsSince = now;
      computedBefore = computing;
      const isOver = computing > allowance;
      if (!isOver && now - restsSince <= WAITING_LIMIT_S * 1000) continue;
      this.end();
      return { reason: `took longer than ${isOver ? COMPUTING_LIMIT_S : WAITING_LIMIT_S} s` };
    }
    const computed = clock();
    const received = receiveMessageOnPort(this.#port);
    if (received === undefined) {
      this.end();
      return { reason: "stopped the HDF5 library" };
    }
    return { answer: received.message as Hdf5Answer, computed };
  }

  /**
   * A clock of the seconds that the thread computes from now on. Where the system doesn't tell, or doesn't yet as the
   * thread has only been started: no more than went by, and no more than the whole process had of the processors (this
   * thread sleeps meanwhile; others may be at work beside it).
   */
  #startClock(): () => number {
    const began = performance.now();
    const cpu = process.cpuUsage();
    const before = threadTime(Atomics.load(this.#shared, 1));
    return () => {
      const now = threadTime(Atomics.load(this.#shared, 1));
      if (now !== undefined) return now - (before ?? 0);
      const { user, system } = process.cpuUsage(cpu);
      return Math.min((performance.now() - began) / 1000, (user + system) / 1e6);
    };
  }

  end(): void {
    if (this.#hasEnded) return;
    this.#hasEnded = true;
    this.#port.close();
    void this.#worker.terminate();
  }
}

class GuardedFile implements Hdf5File {
  readonly name: string;
  readonly #thread: Hdf5Thread;
  readonly #placed: PlacedFile;
  #number: number | undefined;
  #allowance = COMPUTING_LIMIT_S;
  #stopped: string | undefined;
  #notes: readonly string[] = [];

  constructor(thread: Hdf5Thread, placed: PlacedFile) {
    this.#thread = thread;
    this.#placed = placed;
    this.name = placed.name;
  }

  get notes(): readonly string[] {
    return this.#notes;
  }

  open(): Result<undefined> {
    const { name, path, isCopy = false } = this.#placed;
    const opened = this.#ask<"open">({ kind: "open", name, path, isCopy });
    if (!opened.ok) {
      this.#placed.release?.();
      return opened;
    }
    this.#number = opened.value;
    return success(undefined);
  }

  node(path: string): Result<Hdf5Group | Hdf5Dataset> {
    return this.#inFile(path, (file) => this.#ask<"node">({ kind: "node", file, path }));
  }

  async prepare(path: string): Promise<Result<undefined>> {
    return this.#inFile(path, (file) => this.#ask<"prepare">({ kind: "prepare", file, path }));
  }

  read(path: string, slice?: readonly (readonly [number, number])[]): Result<NumericArray> {
    return this.#inFile(path, (file) => {
      const read = this.#ask<"read">({ kind: "read", file, path, slice });
      if (read.ok) this.#allowance += read.value.byteLength * S_PER_BYTE;
      return read;
    });
  }

  readText(path: string): Result<readonly string[]> {
    return this.#inFile(path, (file) => this.#ask<"readText">({ kind: "readText", file, path }));
  }

  close(): void {
    const file = this.#number;
    if (file === undefined) return;
    this.#number = undefined;
    if (!this.#thread.hasEnded) this.#ask<"close">({ kind: "close", file });
    this.#placed.release?.();
  }

  #inFile<T>(path: string, work: (file: number) => Result<T>): Result<T> {
    const place = { file: this.name, field: path };
    if (this.#number === undefined) return failure("unreadable", `${this.name} is closed`, place);
    if (this.#stopped !== undefined) return failure("unreadable", this.#stopped, place);
    if (this.#thread.hasEnded)
      return failure("incomplete", `another file stopped the HDF5 library: open ${this.name} again`, place);
    return work(this.#number);
  }

  #ask<K extends keyof Hdf5Answers>(call: Hdf5Call & { readonly kind: K }): Result<Hdf5Answers[K]> {
    const asked = this.#thread.ask(call, this.#allowance);
    if ("reason" in asked) {
      this.#stopped = `reading ${this.name} ${asked.reason}; the file may be damaged`;
      return failure("unreadable", this.#stopped, { file: this.name });
    }
    const { answer, computed } = asked;
    if (answer.bug !== undefined) throw new Error(`in the HDF5 thread: ${answer.bug}`);
    this.#allowance -= computed;
    this.#notes = answer.notes;
    // The answer to a call of kind K is an answer of kind K.
    return answer.result as Result<Hdf5Answers[K]>;
  }
}
