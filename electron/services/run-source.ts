import { stat } from "node:fs/promises";
import { resolve } from "node:path";
import { openRun } from "../../core/formats/index.ts";
import type { ReadChoice } from "../../core/formats/reader.ts";
import type { Run } from "../../core/model/frame.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { RunReference, RunRole } from "../../core/plan/plan.ts";
import type { LoadedRun, RunSource } from "../../core/plan/reduction.ts";
import { FileDigests } from "./file-digest.ts";
import { openHdf5Guarded } from "./hdf5-guard.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { pathSource } from "./path-source.ts";

type Mask = Result<{
  readonly width: number;
  readonly height: number;
  readonly masked: Uint8Array;
  readonly sha256: string;
}>;

/** A pipe or a device would be waited for without end. */
async function checkIsFile(path: string, shown: string): Promise<Result<undefined>> {
  const found = await stat(path);
  if (found.isFile()) return success(undefined);
  const what = found.isDirectory() ? "a folder" : "no file";
  return failure("unsupported", `${shown} is ${what}: name a file`, { file: shown });
}

/** Opens a frame file of any format by its path. */
export async function openRunFile(path: string, choice: ReadChoice, signal: AbortSignal): Promise<Result<Run>> {
  try {
    const plain = await checkIsFile(path, path);
    if (!plain.ok) return plain;
    return await openRun(await pathSource(path), { choice, signal, openHdf5: openHdf5Guarded });
  } catch (error) {
    if (hasErrorCode(error)) return ioFault("read", path, error);
    throw error;
  }
}

/** Finds the files of a plan beside it, and fingerprints each once. */
export class FileRunSource implements RunSource {
  readonly #folder: string;
  readonly #digests = new FileDigests();

  /** @param planFolder what relative paths of the plan start from */
  constructor(planFolder: string) {
    this.#folder = planFolder;
  }

  /** SHA-256 of a file of the plan. @throws what the file system refuses */
  digest(file: string, signal: AbortSignal): Promise<string> {
    return this.#digests.of(resolve(this.#folder, file), signal);
  }

  async openRun(reference: RunReference, role: RunRole, signal: AbortSignal): Promise<Result<LoadedRun>> {
    const { file, ...choice } = typeof reference === "string" ? { file: reference } : reference;
    const path = resolve(this.#folder, file);
    return this.#named(file, `runs.${role}`, async () => {
      const plain = await checkIsFile(path, file);
      if (!plain.ok) return plain;
      const sha256 = await this.#digests.of(path, signal);
      const run = await openRunFile(path, choice, signal);
      return run.ok ? success({ run: run.value, file, sha256 }) : run;
    });
  }

  async openMask(file: string, signal: AbortSignal): Promise<Mask> {
    const path = resolve(this.#folder, file);
    return this.#named(file, "mask.file", async () => {
      const plain = await checkIsFile(path, file);
      if (!plain.ok) return plain;
      const sha256 = await this.#digests.of(path, signal);
      const run = await openRunFile(path, {}, signal);
      if (!run.ok) return run;
      try {
        const [bank, another] = run.value.banks;
        if (bank === undefined || another !== undefined || bank.frames !== 1)
          return failure("inconsistent", `a mask is one frame; ${file} holds more`);
        const frame = await bank.readFrame(0, signal);
        if (!frame.ok) return frame;
        const { width, height, counts } = frame.value;
        const masked = new Uint8Array(counts.length);
        // NaN isn't 0 either: what is no number can't say that a pixel is good.
        for (let p = 0; p < masked.length; p++) masked[p] = counts[p] === 0 ? 0 : 1;
        return success({ width, height, masked, sha256 });
      } finally {
        run.value.close();
      }
    });
  }

  /** A fault says which file it is, as the plan names it, and which key of the plan names it. */
  async #named<T>(file: string, field: string, work: () => Promise<Result<T>>): Promise<Result<T>> {
    let result: Result<T>;
    try {
      result = await work();
    } catch (error) {
      if (!hasErrorCode(error)) throw error;
      result = ioFault("read", file, error);
    }
    return result.ok ? result : { ok: false, fault: { field, ...result.fault, file } };
  }
}
