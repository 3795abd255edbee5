import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import { hdf5Opener } from "../../../renderer/worker/open-hdf5.ts";
import { knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, unwrap } from "../../support/open-file.ts";

const PLUGINS = join(dirname(createRequire(import.meta.url).resolve("h5wasm-plugins/package.json")), "plugins");

// The browser's build of h5wasm, in Node: without a worker's FileReaderSync it copies the file into its own memory.
describe("HDF5 as the window opens it", () => {
  const asked: string[] = [];
  const open = hdf5Opener(async (name) => {
    asked.push(name);
    return existsSync(join(PLUGINS, name)) ? new Uint8Array(readFileSync(join(PLUGINS, name))) : undefined;
  });

  it("reads frames, and fetches a filter only when a dataset needs it", async () => {
    const file = unwrap(await open(bytesSource("kinds.h5", fixtureBytes("kinds.h5"))));
    expect(Array.from(unwrap(file.read("/stores/gzip")))).toEqual(knownFrame());
    expect(asked).toEqual([]);
    expect(messageOf(file.read("/stores/lz4"))).toContain("filter 32004 (LZ4)");
    for (const [name, plugin] of [
      ["lz4", "libH5Zlz4.so"],
      ["bitshuffle", "libH5Zbshuf.so"],
      ["lzf", "libH5Zlzf.so"],
    ] as const) {
      unwrap(await file.prepare(`/stores/${name}`));
      expect(asked.at(-1)).toBe(plugin);
      expect(Array.from(unwrap(file.read(`/stores/${name}`)))).toEqual(knownFrame());
    }
    file.close();
  });

  it("opens the next file after one that failed", async () => {
    const bytes = fixtureBytes("kinds.h5");
    expect(messageOf(await open(bytesSource("cut.h5", bytes.slice(0, 20_000))))).toContain(
      "cut off, or still being written",
    );
    for (let i = 0; i < 3; i++) {
      const file = unwrap(await open(bytesSource("kinds.h5", bytes)));
      expect(file.node("/stores").ok).toBe(true);
      file.close();
    }
  });
});
