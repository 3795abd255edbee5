import { existsSync, readFileSync } from "node:fs";
import { resolve } from "node:path";

// Reference material (real frames, published curves, schemas, check values) lies beside the checkout and is not part
// of the project. Tests that need it skip with a message where it is absent.
const ROOT = resolve(import.meta.dirname, "../../../shared");

export function sharedFile(relative: string): string {
  return resolve(ROOT, relative);
}

/** True where the file is there; otherwise says so once, so that the skip is seen. */
export function hasShared(relative: string): boolean {
  const there = existsSync(sharedFile(relative));
  if (!there) process.stderr.write(`skipped: reference file ${relative} is not beside this checkout\n`);
  return there;
}

export interface ReferenceEntry {
  readonly id: string;
  readonly topic: string;
  // Inputs and expected values differ from entry to entry; each test knows its own.
  readonly inputs: Record<string, never>;
  readonly expected: Record<string, never>;
  readonly tolerance: { readonly rel?: number; readonly abs?: number };
  readonly source: string;
}

let entries: Map<string, ReferenceEntry> | undefined;

/** An entry of the table of check values; undefined where the table is absent. */
export function reference(id: string): ReferenceEntry | undefined {
  if (!existsSync(sharedFile("reference-values.json"))) return undefined;
  entries ??= new Map(
    (JSON.parse(readFileSync(sharedFile("reference-values.json"), "utf8")) as ReferenceEntry[]).map((e) => [e.id, e]),
  );
  const entry = entries.get(id);
  if (entry === undefined) throw new Error(`no check value is called ${id}`);
  return entry;
}
