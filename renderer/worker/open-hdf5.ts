import h5wasm from "h5wasm";
import { boundMemory } from "../../core/formats/hdf5/bound-memory.ts";
import { openH5wasmFile } from "../../core/formats/hdf5/h5wasm-file.ts";
import { type H5wasmModule, hasStopped } from "../../core/formats/hdf5/h5wasm-module.ts";
import type { ByteSource, OpenHdf5 } from "../../core/formats/reader.ts";
import { failure } from "../../core/model/result.ts";

/** A dropped or picked file: HDF5 reads it in place, however large, but only inside a worker. */
export interface BlobSource extends ByteSource {
  readonly blob: Blob;
}

/** Fetches a filter plug-in by file name; undefined where this window has none of that name. */
export type FetchPlugin = (fileName: string) => Promise<Uint8Array | undefined>;

/** Bytes of a source without a blob that are copied into the module's memory, which ends at 2 GiB. */
const COPY_LIMIT = 2 ** 29;

type Files = H5wasmModule["FS"] & {
  readonly filesystems: { readonly WORKERFS?: object };
  mkdirTree(path: string): void;
  rmdir(path: string): void;
  unlink(path: string): void;
  writeFile(path: string, data: Uint8Array): void;
  mount(
    type: object,
    options: { readonly blobs: readonly { readonly name: string; readonly data: Blob }[] },
    path: string,
  ): void;
  unmount(path: string): void;
};

let folders = 0;
let started: Promise<H5wasmModule & Awaited<typeof h5wasm.ready>> | undefined;
let running: H5wasmModule | undefined;

/** True once a damaged file stopped the library: only another worker has a fresh one. */
export function hdf5HasStopped(): boolean {
  return running !== undefined && hasStopped(running);
}

function start(): Promise<H5wasmModule & Awaited<typeof h5wasm.ready>> {
  started ??= h5wasm.ready.then((module) => {
    boundMemory(WebAssembly.Memory.prototype, module);
    running = module;
    return module;
  });
  return started;
}

/** Opens HDF5 in a browser's worker. `fetchPlugin` brings the filters that are not built in, one by one as needed. */
export function hdf5Opener(fetchPlugin: FetchPlugin): OpenHdf5 {
  return async (source) => {
    const module = await start();
    if (hasStopped(module))
      return failure("unreadable", "a damaged file stopped the HDF5 library: the worker has to start again", {
        file: source.name,
      });
    const files = module.FS as unknown as Files;
    const loadPlugin = async (fileName: string): Promise<boolean> => {
      const bytes = await fetchPlugin(fileName);
      const folder = module.get_plugin_search_paths()[0];
      if (bytes === undefined || folder === undefined) return false;
      files.mkdirTree(folder);
      files.writeFile(`${folder}/${fileName}`, bytes);
      return true;
    };
    const folder = `/open-${++folders}`;
    files.mkdirTree(folder);
    const { WORKERFS } = files.filesystems;
    if (hasBlob(source) && WORKERFS !== undefined && isWorker()) {
      files.mount(WORKERFS, { blobs: [{ name: "frame", data: source.blob }] }, folder);
      const release = (): void => {
        files.unmount(folder);
        files.rmdir(folder);
      };
      return openH5wasmFile(module, { name: source.name, path: `${folder}/frame`, release, loadPlugin });
    }
    if (source.size > COPY_LIMIT)
      return failure(
        "out-of-range",
        `${source.name} has ${source.size} bytes; without direct access to the file the limit is ${COPY_LIMIT}`,
        { file: source.name },
      );
    files.writeFile(`${folder}/frame`, await source.read(0, source.size));
    const release = (): void => {
      files.unlink(`${folder}/frame`);
      files.rmdir(folder);
    };
    return openH5wasmFile(module, { name: source.name, path: `${folder}/frame`, release, loadPlugin });
  };
}

function hasBlob(source: ByteSource): source is BlobSource {
  return "blob" in source && source.blob instanceof Blob;
}

/** WORKERFS reads through FileReaderSync, which exists in workers alone. */
function isWorker(): boolean {
  return "FileReaderSync" in globalThis;
}
