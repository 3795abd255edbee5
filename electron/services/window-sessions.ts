import { readdir, stat } from "node:fs/promises";
import { join } from "node:path";
import type { KeptSession } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { hasErrorCode } from "./io-fault.ts";
import { PidLock } from "./pid-lock.ts";
import { SessionStore } from "./session-store.ts";

/** More than anybody has windows. */
const MOST_SESSIONS = 100;
const SESSION_NAME = /^session(-\d+)?\.json$/;

interface Slot {
  readonly name: string;
  readonly store: SessionStore;
  /** Undefined: it could not be written, as on a full disk; the windows of this process are told apart all the same. */
  readonly lock: PidLock | undefined;
  /** Others hold all the sessions there were. */
  readonly isBesideAnother: boolean;
}

/**
 * Sessions of one account, a file each. A live window holds one, and nobody else writes there: windows of this process
 * are told apart by their ids, other processes by a lock beside the file.
 */
export class WindowSessions {
  readonly #folder: string;
  readonly #held = new Map<string, Slot>();
  /** Where a window that is gone left its session, and as of when. */
  readonly #left = new Map<string, { readonly name: string; readonly changed: number | undefined }>();
  #turn: Promise<unknown> = Promise.resolve();

  constructor(userDataFolder: string) {
    this.#folder = userDataFolder;
  }

  /** The session of a window: at first the newest that nobody holds; where all are held, one that begins. */
  load(window: string): Promise<Result<KeptSession>> {
    return this.#inTurn(async () => {
      let slot = this.#held.get(window);
      if (slot === undefined) {
        const claimed = await this.#claim();
        if (!claimed.ok) return claimed;
        slot = claimed.value;
        this.#held.set(window, slot);
      }
      const loaded = await slot.store.load();
      return loaded.ok ? success({ json: loaded.value, isBesideAnother: slot.isBesideAnother }) : loaded;
    });
  }

  save(window: string, session: string): Promise<Result<undefined>> {
    return this.#held.get(window)?.store.save(session) ?? this.#inTurn(() => this.#saveLate(window, session));
  }

  /** The window is gone: its session is free. */
  release(window: string): Promise<void> {
    return this.#inTurn(async () => {
      const slot = this.#held.get(window);
      if (slot === undefined) return;
      this.#held.delete(window);
      await this.#leave(window, slot);
    });
  }

  async releaseAll(): Promise<void> {
    await Promise.all([...this.#held.keys()].map((window) => this.release(window)));
  }

  /** A window whose connection was lost, or that says its last word: it goes on in its file if nobody else has since. */
  async #saveLate(window: string, session: string): Promise<Result<undefined>> {
    const held = this.#held.get(window);
    if (held !== undefined) return held.store.save(session);
    const left = this.#left.get(window);
    const isUntouched = left !== undefined && (await this.#changed(left.name)) === left.changed;
    const again = isUntouched ? await this.#take(left.name, false) : undefined;
    const slot = again === undefined ? await this.#begin(await this.#names(), true) : success(again);
    if (!slot.ok) return slot;
    const saved = await slot.value.store.save(session);
    await this.#leave(window, slot.value);
    return saved;
  }

  async #leave(window: string, { name, store, lock }: Slot): Promise<void> {
    await store.settled();
    this.#left.set(window, { name, changed: await this.#changed(name) });
    await lock?.release();
  }

  async #claim(): Promise<Result<Slot>> {
    const names = await this.#names();
    for (const name of names) {
      const slot = await this.#take(name, false);
      if (slot !== undefined) return success(slot);
    }
    return this.#begin(names, names.length > 0 || this.#held.size > 0);
  }

  async #begin(names: readonly string[], isBesideAnother: boolean): Promise<Result<Slot>> {
    for (let number = 1; number <= MOST_SESSIONS; number++) {
      const name = number === 1 ? "session.json" : `session-${number}.json`;
      if (names.includes(name)) continue;
      const slot = await this.#take(name, isBesideAnother);
      if (slot !== undefined) return success(slot);
    }
    return failure("inconsistent", `${this.#folder} holds ${MOST_SESSIONS} sessions already: delete those of old`);
  }

  /** Undefined: somebody holds it. */
  async #take(name: string, isBesideAnother: boolean): Promise<Slot | undefined> {
    if ([...this.#held.values()].some((slot) => slot.name === name)) return undefined;
    const attempt = await PidLock.take(join(this.#folder, name.replace(/\.json$/, ".lock")));
    if (attempt.kind === "held") return undefined;
    const lock = attempt.kind === "taken" ? attempt.lock : undefined;
    return { name, lock, isBesideAnother, store: new SessionStore(this.#folder, name) };
  }

  /** The newest first. */
  async #names(): Promise<readonly string[]> {
    let all: readonly string[];
    try {
      all = await readdir(this.#folder);
    } catch (error) {
      if (hasErrorCode(error)) return [];
      throw error;
    }
    const names = all.filter((name) => SESSION_NAME.test(name));
    const found = await Promise.all(names.map(async (name) => ({ name, changed: (await this.#changed(name)) ?? 0 })));
    return found.sort((a, b) => b.changed - a.changed).map(({ name }) => name);
  }

  async #changed(name: string): Promise<number | undefined> {
    try {
      return (await stat(join(this.#folder, name))).mtimeMs;
    } catch (error) {
      if (hasErrorCode(error)) return undefined;
      throw error;
    }
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const done = this.#turn.then(work);
    this.#turn = done.catch(() => undefined);
    return done;
  }
}
