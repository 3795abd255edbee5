import { randomBytes } from "node:crypto";
import { readFile, realpath, stat } from "node:fs/promises";
import { basename, dirname, join, relative, resolve } from "node:path";
import type { FileToken, HostFile } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { writeFileAtomic } from "./atomic-write.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { isInside } from "./safe-path.ts";

/** A file that the window may read, and the folder tree in which it may look for files beside it. */
interface Grant {
  /** Real path: links resolved when it was granted. */
  readonly path: string;
  readonly tree: string;
}

/** More than a session holds; older ones are forgotten, and their files must be picked again. */
const MOST_GRANTS = 2000;
/** Frames of watched folders that a window may still read: more than it can be behind. */
const MOST_PASSING = 10_000;
const TOKEN_BYTES = 18;

/**
 * Which files the window may read. Only what the person picked or named gets a token, and what a plan names beside it in
 * the same folder tree. Tokens outlive the program, so that a restored session finds its files.
 */
export class FileTokens {
  readonly #grants = new Map<string, Grant>();
  /** For this start alone: a night of frames must not push out what the person picked. */
  readonly #passing = new Map<string, Grant>();
  readonly #startFolder: string;
  readonly #store: string;
  #saving: Promise<void> = Promise.resolve();

  /** @param store file that keeps the tokens between starts */
  constructor(store: string, startFolder: string) {
    this.#store = store;
    this.#startFolder = startFolder;
  }

  /**
   * Takes in the tokens of earlier starts, and of other processes. A store that is absent or damaged costs the person a
   * second pick, no more.
   */
  async restore(): Promise<void> {
    let stored: unknown;
    try {
      stored = JSON.parse(await readFile(this.#store, "utf8"));
    } catch (error) {
      if (error instanceof SyntaxError || hasErrorCode(error)) return;
      throw error;
    }
    if (!Array.isArray(stored)) return;
    const own = [...this.#grants];
    this.#grants.clear();
    for (const entry of stored as readonly unknown[]) {
      const [token, path, tree] = Array.isArray(entry) ? (entry as readonly unknown[]) : [];
      if (typeof token === "string" && typeof path === "string" && typeof tree === "string")
        this.#grants.set(token, { path, tree });
    }
    // Those of this process are the younger.
    for (const [token, grant] of own) {
      this.#grants.delete(token);
      this.#grants.set(token, grant);
    }
    this.#forgetOldest();
  }

  /** A token for a file that the person chose. The same file keeps its token. */
  async grant(path: string): Promise<Result<HostFile>> {
    let real: string;
    try {
      real = await realpath(path);
    } catch (error) {
      return ioFault("read", path, error);
    }
    return this.#enter({ path: real, tree: dirname(real) });
  }

  /** A token for a frame of a folder that the person has watched; it is not kept for the next start. */
  async grantPassing(path: string): Promise<Result<HostFile>> {
    let real: string;
    let size: number;
    try {
      real = await realpath(path);
      const found = await stat(real);
      if (!found.isFile()) return failure("unsupported", `${this.#label(real)} is not a file`, { file: path });
      size = found.size;
    } catch (error) {
      return ioFault("read", this.#label(path), error);
    }
    // A new token each time: a file that was replaced is another file to the window.
    const token = newToken();
    this.#passing.set(token, { path: real, tree: dirname(real) });
    for (const [oldest] of this.#passing) {
      if (this.#passing.size <= MOST_PASSING) break;
      this.#passing.delete(oldest);
    }
    return success({ token, name: basename(path), label: this.#label(path), size });
  }

  /** A token for a file that a granted one names, by path relative to it. */
  async grantBeside(token: FileToken, relativePath: string): Promise<Result<HostFile>> {
    const known = this.#known(token);
    if (known === undefined) return unknownToken();
    const asked = resolve(dirname(known.path), relativePath);
    const shown = this.#label(asked);
    // Before any look at the disk: what lies outside must not even be told to exist.
    if (!isInside(known.tree, asked)) return outside(relativePath, known);
    let real: string;
    try {
      real = await realpath(asked);
    } catch (error) {
      return ioFault("read", shown, error);
    }
    if (!isInside(known.tree, real)) return outside(relativePath, known);
    return this.#enter({ path: real, tree: known.tree });
  }

  /** Path of a granted file. */
  pathOf(token: FileToken): Result<string> {
    const known = this.#known(token);
    return known === undefined ? unknownToken() : success(known.path);
  }

  #known(token: FileToken): Grant | undefined {
    return this.#grants.get(token) ?? this.#passing.get(token);
  }

  /** Resolves when the tokens given so far are on the disk. */
  async saved(): Promise<void> {
    await this.#saving;
  }

  async #enter(grant: Grant): Promise<Result<HostFile>> {
    let size: number;
    try {
      const found = await stat(grant.path);
      // A pipe or a device would block a read for ever.
      if (!found.isFile())
        return failure("unsupported", `${this.#label(grant.path)} is not a file`, { file: this.#label(grant.path) });
      size = found.size;
    } catch (error) {
      return ioFault("read", this.#label(grant.path), error);
    }
    const existing = [...this.#grants].find(([, known]) => known.path === grant.path && known.tree === grant.tree);
    const token = existing?.[0] ?? newToken();
    // Deleted first, so that it becomes the youngest.
    this.#grants.delete(token);
    this.#grants.set(token, grant);
    this.#forgetOldest();
    if (existing === undefined) this.#save();
    return success({
      token: token as FileToken,
      name: basename(grant.path),
      label: this.#label(grant.path),
      size,
    });
  }

  #forgetOldest(): void {
    for (const [oldest] of this.#grants) {
      if (this.#grants.size <= MOST_GRANTS) break;
      this.#grants.delete(oldest);
    }
  }

  #save(): void {
    this.#saving = this.#saving.then(async () => {
      // Another process may have written since: its tokens stay.
      await this.restore();
      const text = JSON.stringify([...this.#grants].map(([token, { path, tree }]) => [token, path, tree]));
      try {
        await writeFileAtomic(this.#store, text, 0o600);
      } catch (error) {
        // The tokens still hold for this start; the next one asks for the files again.
        if (!hasErrorCode(error)) throw error;
      }
    });
  }

  #label(path: string): string {
    return isInside(this.#startFolder, path) ? relative(this.#startFolder, path) : path;
  }
}

function newToken(): FileToken {
  return randomBytes(TOKEN_BYTES).toString("base64url") as FileToken;
}

function unknownToken(): Result<never> {
  return failure("missing", "this file was not opened in this window, or too long ago: open it again");
}

function outside(relativePath: string, known: Grant): Result<never> {
  return failure(
    "unsupported",
    `"${relativePath}" lies outside the folder of ${basename(known.path)}: open it by hand, or move it there`,
    { file: join(basename(known.tree), basename(known.path)) },
  );
}
