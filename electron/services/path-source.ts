import { open, stat } from "node:fs/promises";
import { basename } from "node:path";
import type { PathSource } from "./open-hdf5.ts";
import { readFrom } from "./read-range.ts";

/**
 * A file on disk as a source of bytes. It is opened for each read and kept open by none: a source has no end of its own.
 *
 * @throws what the file system refuses (see io-fault.ts), here and in `read`
 */
export async function pathSource(path: string): Promise<PathSource> {
  const { size } = await stat(path);
  return {
    name: basename(path),
    path,
    size,
    async read(start, end) {
      const file = await open(path, "r");
      try {
        return await readFrom(file, size, start, end);
      } finally {
        await file.close();
      }
    },
  };
}
