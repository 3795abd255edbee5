import { randomBytes } from "node:crypto";
import { mkdir, open, rename, rm } from "node:fs/promises";
import { basename, dirname, join } from "node:path";

/** A name beside `path` that nobody else has: on the same disk, so that a rename takes its place in one step. */
export function temporaryBeside(path: string): string {
  return join(dirname(path), `.${basename(path)}.${process.pid}-${randomBytes(6).toString("hex")}.tmp`);
}

/**
 * Writes a file so that its name holds the old content or the new one, never a part: to a temporary name, flushed to
 * the disk, then renamed. A failure leaves the old content, and no temporary file.
 *
 * @throws what the file system refuses (see io-fault.ts)
 */
export async function writeFileAtomic(path: string, content: string | Uint8Array, mode = 0o666): Promise<void> {
  const temporary = temporaryBeside(path);
  try {
    const file = await open(temporary, "wx", mode);
    try {
      await file.writeFile(content);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true });
    throw error;
  }
}

export interface FileToWrite {
  /** Relative, "/" between folders. */
  readonly path: string;
  readonly bytes: Uint8Array;
}

/**
 * Puts a folder of files in place as one: written beside the target under a temporary name, then renamed. The target
 * must not exist, or be an empty folder.
 *
 * @throws what the file system refuses; then nothing is left behind
 */
export async function writeFolderAtomic(target: string, files: readonly FileToWrite[]): Promise<void> {
  const temporary = temporaryBeside(target);
  await mkdir(dirname(target), { recursive: true });
  try {
    await writeFiles(temporary, files);
    await rename(temporary, target);
  } catch (error) {
    await rm(temporary, { recursive: true, force: true });
    throw error;
  }
}

/** Writes files into a folder that nobody reads yet. */
export async function writeFiles(folder: string, files: readonly FileToWrite[]): Promise<void> {
  await mkdir(folder, { recursive: true });
  for (const { path, bytes } of files) {
    const place = join(folder, ...path.split("/"));
    await mkdir(dirname(place), { recursive: true });
    const file = await open(place, "wx");
    try {
      await file.writeFile(bytes);
      await file.sync();
    } finally {
      await file.close();
    }
  }
}
