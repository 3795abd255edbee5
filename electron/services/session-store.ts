import { mkdir, readFile, rename } from "node:fs/promises";
import { dirname, join } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { writeFileAtomic } from "./atomic-write.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";

/**
 * Of the envelope; what is inside has a version of its own, which the window knows. Raised together with that one, so
 * that an older program puts the file aside instead of writing over what it would not understand.
 */
const ENVELOPE_VERSION = 2;

interface Envelope {
  readonly halationSession: number;
  readonly session: string;
}

/**
 * The session, kept in one file. Saves are written one after the other; of those that wait, the last wins. A file that
 * this version can't read is never written over: it is put aside, and the fault says where.
 */
export class SessionStore {
  readonly #file: string;
  #running: Promise<Result<undefined>> | undefined;
  #next: { readonly text: string; readonly done: Promise<Result<undefined>> } | undefined;

  constructor(userDataFolder: string, name = "session.json") {
    this.#file = join(userDataFolder, name);
  }

  /** Resolves when no save is under way. */
  async settled(): Promise<void> {
    await (this.#next?.done ?? this.#running);
  }

  async load(): Promise<Result<string | undefined>> {
    let text: string;
    try {
      text = await readFile(this.#file, "utf8");
    } catch (error) {
      if (hasErrorCode(error) && error.code === "ENOENT") return success(undefined);
      return ioFault("read", this.#file, error);
    }
    const envelope = readEnvelope(text);
    if (envelope === undefined) return this.#putAside("damaged", "is damaged");
    if (envelope.halationSession > ENVELOPE_VERSION)
      return this.#putAside(
        `version-${envelope.halationSession}`,
        `has version ${envelope.halationSession}, and this program knows ${ENVELOPE_VERSION}`,
      );
    return success(envelope.session);
  }

  save(session: string): Promise<Result<undefined>> {
    const text = JSON.stringify({ halationSession: ENVELOPE_VERSION, session } satisfies Envelope);
    if (this.#running === undefined) {
      this.#running = this.#write(text);
      return this.#running;
    }
    const done = this.#next?.done ?? this.#running.then(() => this.#writeNext());
    this.#next = { text, done };
    return done;
  }

  #writeNext(): Promise<Result<undefined>> {
    const next = this.#next;
    if (next === undefined) throw new RangeError("no save is waiting");
    this.#next = undefined;
    this.#running = this.#write(next.text);
    return this.#running;
  }

  async #write(text: string): Promise<Result<undefined>> {
    try {
      await mkdir(dirname(this.#file), { recursive: true, mode: 0o700 });
      await writeFileAtomic(this.#file, text, 0o600);
      return success(undefined);
    } catch (error) {
      return ioFault("write", this.#file, error);
    } finally {
      if (this.#next === undefined) this.#running = undefined;
    }
  }

  async #putAside(word: string, what: string): Promise<Result<never>> {
    const aside = this.#file.replace(/\.json$/, `.${word}-${Date.now()}.json`);
    try {
      await rename(this.#file, aside);
    } catch (error) {
      return ioFault("write", aside, error);
    }
    return failure("unreadable", `the saved session ${what}; it was kept as ${aside}, and a new one begins`, {
      file: aside,
    });
  }
}

function readEnvelope(text: string): Envelope | undefined {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return undefined;
  }
  if (typeof value !== "object" || value === null) return undefined;
  const { halationSession, session } = value as Readonly<Record<string, unknown>>;
  if (typeof halationSession !== "number") return undefined;
  // What a later version keeps in its file is its own affair.
  if (halationSession <= ENVELOPE_VERSION && typeof session !== "string") return undefined;
  return { halationSession, session: typeof session === "string" ? session : "" };
}
