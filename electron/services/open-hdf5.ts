import { existsSync, mkdtempSync, rmdirSync, unlinkSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import h5wasm from "h5wasm/node";
import { boundMemory, type MemoryPrototype } from "../../core/formats/hdf5/bound-memory.ts";
import { openH5wasmFile } from "../../core/formats/hdf5/h5wasm-file.ts";
import { type H5wasmModule, hasStopped } from "../../core/formats/hdf5/h5wasm-module.ts";
import type { Hdf5File } from "../../core/formats/hdf5/hdf5-file.ts";
import type { ByteSource, OpenHdf5 } from "../../core/formats/reader.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { findBeside } from "./find-beside.ts";

/** A source that lies on disk: HDF5 opens it in place and reads only what a slice needs. */
export interface PathSource extends ByteSource {
  readonly path: string;
}

/** A file as the module opens it. */
export interface PlacedFile {
  /** Bare file name, for messages. */
  readonly name: string;
  readonly path: string;
  readonly isCopy?: boolean;
  /** Removes the temporary copy, where `path` is one. */
  readonly release?: () => void;
}

/** Bytes of a source without a path (out of an archive) that are copied to a temporary file. */
const COPY_LIMIT = 2 ** 30;

let started: Promise<H5wasmModule> | undefined;

/** Opens HDF5 in this thread, which a damaged file may hold up without end: programs use `openHdf5Guarded`. */
export const openHdf5: OpenHdf5 = async (source) => {
  const placed = await placeOnDisk(source);
  return placed.ok ? openPlaced(placed.value) : placed;
};

export async function openPlaced(placed: PlacedFile): Promise<Result<Hdf5File>> {
  started ??= start(h5wasm.ready);
  if (hasStopped(await started)) started = startAgain();
  // A copy out of an archive has no neighbours.
  const beside = placed.isCopy === true ? {} : { findBeside: findBeside.bind(undefined, placed.path) };
  return openH5wasmFile(await started, { ...placed, ...beside, loadPlugin });
}

/** Where the source lies on disk: itself, or a private temporary copy. */
export async function placeOnDisk(source: ByteSource): Promise<Result<PlacedFile>> {
  if (hasPath(source)) return success({ name: source.name, path: source.path });
  if (source.size > COPY_LIMIT)
    return failure("out-of-range", `${source.name} would unpack to ${source.size} bytes; the limit is ${COPY_LIMIT}`, {
      file: source.name,
    });
  const folder = mkdtempSync(join(tmpdir(), "halation-"));
  const path = join(folder, "unpacked.h5");
  writeFileSync(path, await source.read(0, source.size), { flag: "wx", mode: 0o600 });
  const release = (): void => {
    unlinkSync(path);
    rmdirSync(folder);
  };
  return success({ name: source.name, path, isCopy: true, release });
}

function hasPath(source: ByteSource): source is PathSource {
  return "path" in source && typeof source.path === "string";
}

// The plug-ins are wasm modules that h5wasm loads from this folder when a file needs them.
const PLUGINS = join(dirname(createRequire(import.meta.url).resolve("h5wasm-plugins/package.json")), "plugins");

/** A fresh module in place of one that a damaged file stopped: its script is evaluated once more under another address. */
async function startAgain(): Promise<H5wasmModule> {
  const again = (await import(
    `${import.meta.resolve("h5wasm/node")}?start=${++starts}`
  )) as typeof import("h5wasm/node");
  return start(again.default.ready);
}

let starts = 0;

async function start(ready: typeof h5wasm.ready): Promise<H5wasmModule> {
  const module = await ready;
  module.insert_plugin_search_path(PLUGINS, 0);
  boundMemory(MEMORY, module);
  return module;
}

// Node has WebAssembly; its types for this version leave the values out.
const MEMORY = (globalThis as unknown as { WebAssembly: { Memory: { prototype: MemoryPrototype } } }).WebAssembly.Memory
  .prototype;

async function loadPlugin(fileName: string): Promise<boolean> {
  return existsSync(join(PLUGINS, fileName));
}
