import { readFileSync, statSync } from "node:fs";
import { open } from "node:fs/promises";
import { basename } from "node:path";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { openRun } from "../../core/formats/open-run.ts";
import type { ByteSource, ReadChoice, ReadContext } from "../../core/formats/reader.ts";
import type { Run } from "../../core/model/frame.ts";
import { describeFault, type Result } from "../../core/model/result.ts";
import { openHdf5, type PathSource } from "../../electron/services/open-hdf5.ts";

/** A file on disk, read by ranges. */
export function diskSource(path: string): PathSource {
  return {
    name: basename(path),
    path,
    size: statSync(path).size,
    async read(start, end) {
      const file = await open(path);
      try {
        const bytes = new Uint8Array(end - start);
        const { bytesRead } = await file.read(bytes, 0, bytes.length, start);
        return bytes.slice(0, bytesRead);
      } finally {
        await file.close();
      }
    },
  };
}

export const neverAborted = new AbortController().signal;

export function readContext(choice: ReadChoice = {}): ReadContext {
  return { choice, signal: neverAborted, openHdf5 };
}

export function openSource(source: ByteSource, choice?: ReadChoice): Promise<Result<Run>> {
  return openRun(source, readContext(choice));
}

export function openBytes(name: string, bytes: Uint8Array<ArrayBuffer>, choice?: ReadChoice): Promise<Result<Run>> {
  return openSource(bytesSource(name, bytes), choice);
}

/** A small file kept with the tests; tests/support/scripts has the script that made it. */
export function fixture(name: string): string {
  return new URL(`fixtures/${name}`, import.meta.url).pathname;
}

export function fixtureBytes(name: string): Uint8Array<ArrayBuffer> {
  return new Uint8Array(readFileSync(fixture(name)));
}

/** The value of a result that a test takes to be there. */
export function unwrap<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(describeFault(result.fault));
  return result.value;
}

/** The message of a result that a test takes to be a fault. */
export function messageOf(result: Result<unknown>): string {
  if (result.ok) throw new Error("a fault was expected");
  return describeFault(result.fault);
}
