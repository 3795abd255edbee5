import { constants } from "node:fs";
import { type FileHandle, open } from "node:fs/promises";
import { type Result, success } from "../../core/model/result.ts";
import { ioFault } from "./io-fault.ts";

/** Bytes start <= i < end of an open file of `size` bytes; shorter only where the file ends. */
export async function readFrom(
  file: FileHandle,
  size: number,
  start: number,
  end: number,
): Promise<Uint8Array<ArrayBuffer>> {
  const bytes = new Uint8Array(Math.max(0, Math.min(end, size) - start));
  let filled = 0;
  while (filled < bytes.length) {
    const { bytesRead } = await file.read(bytes, filled, bytes.length - filled, start + filled);
    // The file was cut while it was read.
    if (bytesRead === 0) break;
    filled += bytesRead;
  }
  return filled === bytes.length ? bytes : bytes.slice(0, filled);
}

/**
 * Bytes start <= i < end of a file; shorter only where the file ends.
 *
 * @param path  a real path; a link that was put in its place since is refused
 * @param shown what a message calls the file
 */
export async function readRange(
  path: string,
  start: number,
  end: number,
  shown: string,
): Promise<Result<Uint8Array<ArrayBuffer>>> {
  try {
    // O_NOFOLLOW is undefined on Windows, where such links need rights that people don't have.
    const file = await open(path, constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0));
    try {
      const { size } = await file.stat();
      return success(await readFrom(file, size, start, end));
    } finally {
      await file.close();
    }
  } catch (error) {
    return ioFault("read", shown, error);
  }
}
