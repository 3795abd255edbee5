import { randomUUID } from "node:crypto";
import { realpath, stat } from "node:fs/promises";
import { relative, resolve } from "node:path";
import type { FolderWatch, LastWatch } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { FileTokens } from "./file-tokens.ts";
import { ioFault } from "./io-fault.ts";
import { openRunFile } from "./run-source.ts";
import { isInside } from "./safe-path.ts";
import type { SeenFile } from "./settling-files.ts";
import type { SendEvent, Shell } from "./shell.ts";
import { type Arrival, type ArrivalOutcome, watchFolder } from "./watch-folder.ts";
import { WatchMemory } from "./watch-memory.ts";

/** A window watches one; several windows of one host a few. */
const MOST_WATCHES = 8;
const POLL_MS = 1000;

interface Running {
  readonly control: AbortController;
  readonly ended: Promise<void>;
}

/** The folders that are watched for windows. */
export class FolderWatches {
  readonly #shell: Shell;
  readonly #tokens: FileTokens;
  readonly #send: SendEvent;
  readonly #running = new Map<string, Running>();
  readonly #memory: WatchMemory;
  /** The watch that is remembered: the one that was begun last. Its files that the window has, and isn't through with. */
  #remembered: { readonly id: string; readonly open: Map<string, SeenFile> } | undefined;

  constructor(parts: { readonly shell: Shell; readonly tokens: FileTokens; readonly send: SendEvent }) {
    this.#shell = parts.shell;
    this.#tokens = parts.tokens;
    this.#send = parts.send;
    this.#memory = new WatchMemory(parts.shell.userDataFolder);
  }

  /** @param asked in the start folder; undefined: the person picks one */
  async start(asked: string | undefined): Promise<Result<FolderWatch>> {
    if (this.#running.size >= MOST_WATCHES)
      return failure("out-of-range", `${MOST_WATCHES} folders are watched already: stop one of them first`);
    const folder = asked === undefined ? await this.#pick() : await this.#inStartFolder(asked);
    if (!folder.ok) return folder;
    const begun = await this.#memory.begin(folder.value);
    return begun.ok ? this.#watch(folder.value, new Map(), []) : begun;
  }

  async last(): Promise<Result<LastWatch | undefined>> {
    const recalled = await this.#memory.recall();
    if (!recalled.ok || recalled.value === undefined) return recalled.ok ? success(undefined) : recalled;
    const { folder, frames } = recalled.value;
    return success({ label: this.#label(folder), frames });
  }

  /** The folder need not be picked again: a person did so when the watch began. */
  async resume(): Promise<Result<FolderWatch>> {
    const recalled = await this.#memory.recall();
    if (!recalled.ok) return recalled;
    if (recalled.value === undefined) return failure("missing", "no folder was watched before: choose one");
    const { folder, done, notes } = recalled.value;
    const real = await realFolder(folder, this.#label(folder));
    return real.ok ? this.#watch(real.value, done, notes) : real;
  }

  /** A note about a frame that isn't the remembered watch's, or was noted already, is none to keep. */
  async note(watch: string, name: string, note: string): Promise<Result<undefined>> {
    const file = this.#remembered?.id === watch ? this.#remembered.open.get(name) : undefined;
    if (file === undefined) return success(undefined);
    this.#remembered?.open.delete(name);
    return this.#memory.enter(file, note);
  }

  #watch(folder: string, done: ReadonlyMap<string, string>, earlier: readonly string[]): Result<FolderWatch> {
    const id = randomUUID();
    this.#remembered = { id, open: new Map() };
    const control = new AbortController();
    const ended = watchFolder({
      folder,
      done,
      pollMs: this.#shell.pollMs ?? POLL_MS,
      signal: control.signal,
      onArrival: (arrival) => this.#arrive(id, arrival, control.signal),
      onTrouble: (message) => this.#send("watchTrouble", { watch: id, message: message ?? null }),
    }).then(
      (result) => {
        // Gone between the check and the first look.
        if (!result.ok) this.#send("watchTrouble", { watch: id, message: result.fault.message });
      },
      (error: unknown) => {
        // A mistake of ours ends this watch, not the program with the person's work in it.
        const message = `a fault of the program ended the watch: ${error instanceof Error ? error.message : String(error)}`;
        this.#send("watchTrouble", { watch: id, message });
      },
    );
    this.#running.set(id, { control, ended });
    return success({ id, label: this.#label(folder), earlier });
  }

  async stop(id: string): Promise<Result<undefined>> {
    const running = this.#running.get(id);
    this.#running.delete(id);
    running?.control.abort();
    await running?.ended;
    return success(undefined);
  }

  async stopAll(): Promise<void> {
    await Promise.all([...this.#running.keys()].map((id) => this.stop(id)));
    await this.#memory.close();
  }

  async #pick(): Promise<Result<string>> {
    const { pickFolder } = this.#shell;
    if (pickFolder === undefined)
      return failure("unsupported", "this host has no folder dialog: name a folder inside its start folder");
    const picked = await pickFolder();
    return picked === undefined ? failure("cancelled", "no folder was picked") : realFolder(picked, picked);
  }

  async #inStartFolder(asked: string): Promise<Result<string>> {
    const { startFolder } = this.#shell;
    const place = resolve(startFolder, asked);
    const outside = failure("unsupported", `"${asked}" lies outside the folder that this program was started in`);
    // Before any look at the disk: what lies outside must not even be told to exist.
    if (!isInside(startFolder, place)) return outside;
    const real = await realFolder(place, asked);
    if (!real.ok) return real;
    return isInside(await realpath(startFolder), real.value) ? real : outside;
  }

  /** Read to its end before the window hears of it: it need not know what half a file is. */
  async #arrive(watch: string, arrival: Arrival, signal: AbortSignal): Promise<ArrivalOutcome> {
    const { path, isReplacement, isLastTry } = arrival;
    if (!isLastTry && !(await readsToItsEnd(path, signal))) return "incomplete";
    const file = await this.#tokens.grantPassing(path);
    if (!file.ok || signal.aborted) return "gone";
    const { name, size, mtimeMs } = arrival;
    if (this.#remembered?.id === watch) this.#remembered.open.set(name, { name, size, mtimeMs });
    this.#send("frameArrived", { watch, file: file.value, isReplacement });
    return "done";
  }

  #label(folder: string): string {
    const { startFolder } = this.#shell;
    if (!isInside(startFolder, folder)) return folder;
    return relative(startFolder, folder) || ".";
  }
}

async function realFolder(path: string, shown: string): Promise<Result<string>> {
  try {
    const real = await realpath(path);
    if ((await stat(real)).isDirectory()) return success(real);
    return failure("unsupported", `${shown} is not a folder`, { file: shown });
  } catch (error) {
    return ioFault("list", shown, error);
  }
}

/** False while a file is written or its share stutters. Any other fault is the window's to tell. */
async function readsToItsEnd(path: string, signal: AbortSignal): Promise<boolean> {
  const mayPass = (code: string) => code === "incomplete" || code === "unreadable";
  const run = await openRunFile(path, {}, signal);
  if (!run.ok) return !mayPass(run.fault.code);
  try {
    for (const bank of run.value.banks) {
      const last = await bank.readFrame(bank.frames - 1, signal);
      if (!last.ok && mayPass(last.fault.code)) return false;
    }
    return true;
  } finally {
    run.value.close();
  }
}
