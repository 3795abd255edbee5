import { mkdir, readdir, readFile, rename, rm, rmdir } from "node:fs/promises";
import { dirname, join, relative, sep } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { type FileToWrite, temporaryBeside, writeFiles } from "./atomic-write.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { isPlainPath } from "./safe-path.ts";

/** Lists the files of a result folder, so that the next run knows which of them it may replace. */
const MARKER = ".halation.json";

interface Marker {
  readonly program: "Halation";
  readonly files: readonly string[];
  /** Fingerprint of what the result was made from, where whoever made it gave one. */
  readonly madeFrom?: string;
}

/** What stands where a result should go. */
export type FolderState =
  | { readonly kind: "free" }
  /** Made by this program; `others`: files in it that were not; `isWhole`: none of ours is missing. */
  | {
      readonly kind: "ours";
      readonly files: readonly string[];
      readonly others: readonly string[];
      readonly isWhole: boolean;
      readonly madeFrom?: string;
    }
  | { readonly kind: "foreign" };

export async function inspectFolder(folder: string): Promise<Result<FolderState>> {
  let names: string[];
  try {
    const entries = await readdir(folder, { recursive: true, withFileTypes: true });
    names = entries
      .filter((entry) => !entry.isDirectory())
      .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"));
    if (entries.length === 0) return success({ kind: "free" });
  } catch (error) {
    if (hasErrorCode(error) && error.code === "ENOENT") return success({ kind: "free" });
    return ioFault("list", folder, error);
  }
  const marker = await readMarker(folder);
  if (marker === undefined) return success({ kind: "foreign" });
  const files = new Set([...marker.files, MARKER]);
  const there = new Set(names);
  return success({
    kind: "ours",
    files: marker.files,
    others: names.filter((name) => !files.has(name)),
    isWhole: marker.files.every((file) => there.has(file)),
    ...(marker.madeFrom !== undefined && { madeFrom: marker.madeFrom }),
  });
}

async function readMarker(folder: string): Promise<Marker | undefined> {
  try {
    const value = JSON.parse(await readFile(join(folder, MARKER), "utf8")) as Readonly<Record<string, unknown>> | null;
    const files = value?.["files"];
    if (value?.["program"] !== "Halation" || !Array.isArray(files)) return undefined;
    // A marker that names a path out of the folder is none of ours.
    if (!files.every((file) => typeof file === "string" && isPlainPath(file))) return undefined;
    const madeFrom = value["madeFrom"];
    return {
      program: "Halation",
      files: files as readonly string[],
      ...(typeof madeFrom === "string" && { madeFrom }),
    };
  } catch (error) {
    if (error instanceof SyntaxError || hasErrorCode(error)) return undefined;
    throw error;
  }
}

/** A fault where a result must not go into `folder`; called before any work is done. */
export async function checkOutputFolder(folder: string, force: boolean): Promise<Result<FolderState>> {
  const state = await inspectFolder(folder);
  if (!state.ok || state.value.kind === "free" || force) return state;
  const place = { field: "--out" };
  if (state.value.kind === "foreign")
    return failure(
      "inconsistent",
      `--out ${folder} holds files that this program did not make: name another folder, or add --force to write there all the same`,
      place,
    );
  const [other] = state.value.others;
  return other === undefined
    ? state
    : failure(
        "inconsistent",
        `--out ${folder} holds ${other}, which this program did not make: move it away, or add --force to keep it and write around it`,
        place,
      );
}

/** A fault where one of `names` in `folder` was not made by this program; other files there play no part. */
export async function checkOwnFiles(
  folder: string,
  names: readonly string[],
  force: boolean,
): Promise<Result<undefined>> {
  if (force) return success(undefined);
  const own = new Set((await readMarker(folder))?.files);
  let there: string[];
  try {
    there = await readdir(folder);
  } catch (error) {
    if (hasErrorCode(error) && error.code === "ENOENT") return success(undefined);
    return ioFault("list", folder, error);
  }
  const foreign = names.find((name) => there.includes(name) && !own.has(name));
  if (foreign === undefined) return success(undefined);
  return failure(
    "inconsistent",
    `--out ${folder} holds ${foreign}, which this program did not make: move it away, or add --force to replace it`,
    { field: "--out" },
  );
}

/**
 * Puts a result in place. Everything is written beside the folder first; then a new folder, or one that is wholly ours,
 * is changed for it by renaming. Where other files lie (`force`), ours move in one by one and the others stay untouched.
 * A run that is killed leaves the old result or the new one, and each file whole.
 * @param madeFrom fingerprint of what it was made from, for whoever asks later whether it would come out the same
 */
export async function writeOutputFolder(
  folder: string,
  files: readonly FileToWrite[],
  force: boolean,
  madeFrom?: string,
): Promise<Result<undefined>> {
  const state = await checkOutputFolder(folder, force);
  if (!state.ok) return state;
  const marker: Marker = {
    program: "Halation",
    files: files.map(({ path }) => path),
    ...(madeFrom !== undefined && { madeFrom }),
  };
  const staged = temporaryBeside(folder);
  try {
    await mkdir(dirname(folder), { recursive: true });
    await writeFiles(staged, [
      ...files,
      { path: MARKER, bytes: new TextEncoder().encode(`${JSON.stringify(marker, null, 2)}\n`) },
    ]);
    if (state.value.kind === "free") await rename(staged, folder);
    else if (state.value.kind === "ours" && state.value.others.length === 0) await exchange(folder, staged);
    else await moveInto(folder, staged, marker.files, state.value.kind === "ours" ? state.value.files : []);
    return success(undefined);
  } catch (error) {
    return ioFault("write", folder, error);
  } finally {
    await rm(staged, { recursive: true, force: true });
  }
}

async function exchange(folder: string, staged: string): Promise<void> {
  const old = temporaryBeside(folder);
  await rename(folder, old);
  try {
    await rename(staged, folder);
  } catch (error) {
    await rename(old, folder);
    throw error;
  }
  await rm(old, { recursive: true, force: true });
}

async function moveInto(
  folder: string,
  staged: string,
  files: readonly string[],
  earlier: readonly string[],
): Promise<void> {
  for (const file of [...files, MARKER]) {
    const target = join(folder, ...file.split("/"));
    await mkdir(dirname(target), { recursive: true });
    await rename(join(staged, ...file.split("/")), target);
  }
  const kept = new Set(files);
  for (const file of earlier) {
    if (kept.has(file)) continue;
    const path = join(folder, ...file.split("/"));
    await rm(path, { force: true });
    // A folder of ours that is empty now goes too.
    if (dirname(path) !== folder) await rmdir(dirname(path)).catch(ignoreNotEmpty);
  }
}

function ignoreNotEmpty(error: unknown): void {
  if (hasErrorCode(error) && (error.code === "ENOTEMPTY" || error.code === "ENOENT" || error.code === "EEXIST")) return;
  throw error;
}
