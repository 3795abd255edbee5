import { openRun } from "../../core/formats/index.ts";
import type { OpenHdf5, ReadChoice } from "../../core/formats/reader.ts";
import type { Bank, Frame, Run } from "../../core/model/frame.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { RunReference, RunRole } from "../../core/plan/plan.ts";
import type { LoadedRun, RunSource } from "../../core/plan/reduction.ts";
import type { FileShelf, ShelvedFile } from "./file-shelf.ts";
import { ReadingWatch, rest } from "./reading-watch.ts";

/** Frames that are kept read. One of 1024 x 1024 takes 4 to 8 MB. */
const KEPT_FRAMES = 16;

type Mask = Result<{
  readonly width: number;
  readonly height: number;
  readonly masked: Uint8Array;
  readonly sha256: string;
}>;

/** The runs of a plan from the files that the window brought. What was read once isn't read again. */
export class WindowRunSource implements RunSource {
  readonly #shelf: FileShelf;
  readonly #openHdf5: OpenHdf5;
  readonly #watch: ReadingWatch;
  readonly #frames = new Map<string, Result<Frame>>();

  constructor(shelf: FileShelf, openHdf5: OpenHdf5, watch = new ReadingWatch(() => {})) {
    this.#shelf = shelf;
    this.#openHdf5 = openHdf5;
    this.#watch = watch;
  }

  async openRun(reference: RunReference, role: RunRole, signal: AbortSignal): Promise<Result<LoadedRun>> {
    const { file, ...choice } = typeof reference === "string" ? { file: reference } : reference;
    const field = `runs.${role}`;
    const shelved = this.#shelf.find(file);
    if (!shelved.ok) return placed(shelved, file, field);
    const sha256 = await this.#shelf.digest(shelved.value, signal);
    const run = await this.#open(shelved.value, choice, signal);
    return run.ok ? success({ run: run.value, file, sha256 }) : placed(run, file, field);
  }

  async openMask(file: string, signal: AbortSignal): Promise<Mask> {
    const field = "mask.file";
    const shelved = this.#shelf.find(file);
    if (!shelved.ok) return placed(shelved, file, field);
    const run = await this.#open(shelved.value, {}, signal);
    if (!run.ok) return placed(run, file, field);
    try {
      const [bank, another] = run.value.banks;
      if (bank === undefined || another !== undefined || bank.frames !== 1)
        return failure("inconsistent", `a mask is one frame; ${file} holds more`, { file, field });
      const frame = await bank.readFrame(0, signal);
      if (!frame.ok) return placed(frame, file, field);
      const { width, height, counts } = frame.value;
      // NaN isn't 0 either: what is no number can't say that a pixel is good.
      const masked = Uint8Array.from(counts, (value) => (value === 0 ? 0 : 1));
      return success({ width, height, masked, sha256: await this.#shelf.digest(shelved.value, signal) });
    } finally {
      run.value.close();
    }
  }

  async #open(file: ShelvedFile, choice: ReadChoice, signal: AbortSignal): Promise<Result<Run>> {
    const read = { key: `${file.path} ${file.stamp}`, name: file.source.name };
    const allowed = this.#watch.check(read);
    if (!allowed.ok) return allowed;
    const openHdf5 = this.#watch.over(this.#openHdf5, read);
    const opened = await openRun(file.source, { choice, signal, openHdf5 });
    await rest();
    if (!opened.ok) return opened;
    const run = opened.value;
    const key = JSON.stringify([file.path, file.stamp, choice]);
    const banks = run.banks.map(
      (bank): Bank => ({
        ...bank,
        readFrame: (index, own) => this.#readFrame(`${key} ${bank.path} ${index}`, () => bank.readFrame(index, own)),
      }),
    );
    return success({ ...run, banks, close: () => run.close() });
  }

  async #readFrame(key: string, read: () => Promise<Result<Frame>>): Promise<Result<Frame>> {
    const kept = this.#frames.get(key);
    if (kept !== undefined) return kept;
    const frame = await read();
    await rest();
    if (!frame.ok) return frame;
    this.#frames.set(key, frame);
    for (const [oldest] of this.#frames) {
      if (this.#frames.size <= KEPT_FRAMES) break;
      this.#frames.delete(oldest);
    }
    return frame;
  }
}

/** A fault says which file it is, as the plan names it, and which key of the plan names it. */
function placed(result: Extract<Result<unknown>, { ok: false }>, file: string, field: string) {
  return { ok: false as const, fault: { field, ...result.fault, file } };
}
