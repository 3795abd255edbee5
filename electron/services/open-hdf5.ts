import { existsSync, mkdtempSync, rmdirSync, unlinkSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import h5wasm from "h5wasm/node";
import { openH5wasmFile } from "../../core/formats/hdf5/h5wasm-file.ts";
import { type H5wasmModule, hasStopped } from "../../core/formats/hdf5/h5wasm-module.ts";
import type { ByteSource, OpenHdf5 } from "../../core/formats/reader.ts";
import { failure } from "../../core/model/result.ts";

/** A source that lies on disk: HDF5 opens it in place and reads only what a slice needs. */
export interface PathSource extends ByteSource {
  readonly path: string;
}

/** Bytes of a source without a path (out of an archive) that are copied to a temporary file. */
const COPY_LIMIT = 2 ** 30;

let started: Promise<H5wasmModule> | undefined;

/** Opens HDF5 on Node: by path where the source has one, else through a private temporary copy. */
export const openHdf5: OpenHdf5 = async (source) => {
  started ??= start(h5wasm.ready);
  if (hasStopped(await started)) started = startAgain();
  const module = await started;
  if (hasPath(source)) return openH5wasmFile(module, { name: source.name, path: source.path, loadPlugin });
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
  return openH5wasmFile(module, { name: source.name, path, release, loadPlugin });
};

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
  return module;
}

async function loadPlugin(fileName: string): Promise<boolean> {
  return existsSync(join(PLUGINS, fileName));
}
