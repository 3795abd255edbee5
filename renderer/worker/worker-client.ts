import { failure, type Result } from "../../core/model/result.ts";
import type { Answer, Ask, FromWorker, Progress, QuestionKind, ToWorker } from "./protocol.ts";
import { READING_LIMIT_S, ReadingClock } from "./reading-clock.ts";
import type { FileBeingRead } from "./reading-watch.ts";

/** A worker as the client sees it: tests put a double in its place. */
export interface WorkerPort {
  postMessage(message: ToWorker): void;
  terminate(): void;
}

export interface WorkerEvents {
  onMessage(message: FromWorker): void;
  onDeath(reason: string): void;
}

export type StartWorker = (events: WorkerEvents) => WorkerPort;

interface Waiting {
  readonly settle: (result: Result<Answer<QuestionKind>>) => void;
  readonly onProgress: ((progress: Progress) => void) | undefined;
}

export interface AskOptions {
  readonly onProgress?: (progress: Progress) => void;
  /** A question in a slot replaces the one before it: that one is cancelled and its answer dropped. */
  readonly slot?: string;
}

/** What the person is told of a worker that had to start again, once however many asked it. */
export function restartWords(reason: string): string {
  return `Computing stopped unexpectedly and was started again: ${reason}`;
}

const CANCELLED = failure("cancelled", "the question is no longer asked");

/** Asks the worker. A worker that dies is started again, and `onRestart` gives it what it needs to go on. */
export class WorkerClient {
  readonly #start: StartWorker;
  readonly #onRestart: (reason: string) => void;
  #port: WorkerPort;
  #nextId = 1;
  readonly #waiting = new Map<number, Waiting>();
  readonly #slots = new Map<string, number>();
  /** Files that held a worker up, with the reason to give. */
  readonly #avoided = new Map<string, string>();
  readonly #clock: ReadingClock;
  #reading: FileBeingRead | undefined;

  /** @param share part of a processor that a computing worker gets, 0 to 1 */
  constructor(start: StartWorker, onRestart: (reason: string) => void, share: () => Promise<number>) {
    this.#start = start;
    this.#onRestart = onRestart;
    this.#clock = new ReadingClock({ share, onOver: () => this.#giveUp(`took longer than ${READING_LIMIT_S} s`) });
    this.#port = this.#open();
  }

  ask<K extends QuestionKind>(kind: K, ask: Ask<K>, options: AskOptions = {}): Promise<Result<Answer<K>>> {
    const id = this.#nextId++;
    const { slot, onProgress } = options;
    if (slot !== undefined) {
      this.cancel(slot);
      this.#slots.set(slot, id);
    }
    return new Promise((resolve) => {
      // The answer to a question of kind K is an answer of kind K: the worker keeps the id.
      this.#waiting.set(id, { settle: resolve as Waiting["settle"], onProgress });
      this.#port.postMessage({ id, kind, ask } as ToWorker);
    });
  }

  /** Cancels what is asked in a slot. Nothing happens where nothing is. */
  cancel(slot: string): void {
    const id = this.#slots.get(slot);
    this.#slots.delete(slot);
    if (id === undefined || !this.#waiting.has(id)) return;
    this.#settle(id, CANCELLED);
    this.#port.postMessage({ id, kind: "cancel" });
  }

  destroy(): void {
    this.#clock.stop();
    this.#port.terminate();
    for (const id of [...this.#waiting.keys()]) this.#settle(id, CANCELLED);
  }

  #open(): WorkerPort {
    return this.#start({
      onMessage: (message) => this.#receive(message),
      onDeath: (reason) => this.#restart(reason),
    });
  }

  /** HDF5 gives a sign of life every second while it gets on. */
  #watchReading(file: FileBeingRead | undefined): void {
    this.#reading = file;
    if (file === undefined) this.#clock.stop();
    else if (file.hasStopped) this.#giveUp("stopped the HDF5 library");
    else this.#clock.start(file.more_s);
  }

  #giveUp(why: string): void {
    const file = this.#reading;
    if (file === undefined) return;
    const reason = `reading ${file.name} ${why}; the file may be damaged`;
    this.#avoided.set(file.key, reason);
    this.#restart(reason);
  }

  #receive(message: FromWorker): void {
    if (message.kind === "reading") {
      this.#watchReading(message.file);
      return;
    }
    const waiting = this.#waiting.get(message.id);
    // No longer asked: dropped.
    if (waiting === undefined) return;
    switch (message.kind) {
      case "progress":
        waiting.onProgress?.(message.progress);
        return;
      case "answer":
        this.#settle(message.id, message.result);
        return;
      case "bug":
        this.#settle(
          message.id,
          failure("incomplete", `a mistake in Halation stopped this (${message.message}); your work is as it was`),
        );
    }
  }

  #settle(id: number, result: Result<Answer<QuestionKind>>): void {
    const waiting = this.#waiting.get(id);
    this.#waiting.delete(id);
    waiting?.settle(result);
  }

  #restart(reason: string): void {
    this.#watchReading(undefined);
    this.#port.terminate();
    const lost = [...this.#waiting.keys()];
    this.#port = this.#open();
    for (const [key, reasonOfFile] of this.#avoided)
      this.#port.postMessage({ kind: "avoid", key, reason: reasonOfFile });
    for (const id of lost) this.#settle(id, failure("incomplete", restartWords(reason)));
    this.#onRestart(reason);
  }
}
