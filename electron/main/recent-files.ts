import { readFile } from "node:fs/promises";
import { writeFileAtomic } from "../services/atomic-write.ts";

const KEPT = 10;

/**
 * Files that were opened last, newest first: for the menu where the system keeps no list of its own. A list that is not
 * there or not readable is an empty one, and one that can't be written lasts as long as the program: it is a comfort.
 */
export class RecentFiles {
  readonly #file: string;
  readonly #onChange: (paths: readonly string[]) => void;
  #paths: readonly string[] = [];
  #writing: Promise<void> = Promise.resolve();

  constructor(file: string, onChange: (paths: readonly string[]) => void) {
    this.#file = file;
    this.#onChange = onChange;
  }

  async load(): Promise<void> {
    const stored = await readFile(this.#file, "utf8").then(parsed, () => []);
    this.#set([...this.#paths, ...stored]);
  }

  add(paths: readonly string[]): void {
    this.#set([...paths, ...this.#paths]);
    this.#store();
  }

  clear(): void {
    this.#set([]);
    this.#store();
  }

  /** When what was changed is stored. */
  settled(): Promise<void> {
    return this.#writing;
  }

  #set(paths: readonly string[]): void {
    this.#paths = [...new Set(paths)].slice(0, KEPT);
    this.#onChange(this.#paths);
  }

  #store(): void {
    const text = JSON.stringify(this.#paths);
    const write = () => writeFileAtomic(this.#file, text, 0o600).catch(() => undefined);
    this.#writing = this.#writing.then(write);
  }
}

function parsed(text: string): readonly string[] {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return [];
  }
  return Array.isArray(value) ? value.filter((path): path is string => typeof path === "string") : [];
}
