/** What `h5wasm` tells of a dataset's or an attribute's type and shape. */
export interface ModuleMetadata {
  readonly type: number;
  readonly size: number;
  readonly signed: boolean;
  readonly vlen: boolean;
  readonly total_size: number;
  readonly shape: readonly number[] | null;
  readonly enum_type?: { readonly type: number; readonly members: Readonly<Record<string, number>> };
  readonly virtual_sources?: readonly { readonly file_name: string; readonly dset_name: string }[];
}

/** The part of h5wasm's module that this project calls; hosts pass the real one in (`await h5wasm.ready`). */
export interface H5wasmModule {
  readonly HEAPU8: Uint8Array;
  /** Emscripten's file system; its list of open streams is not in its published types, so it is looked at with care. */
  readonly FS: object;
  readonly H5G_GROUP: number;
  readonly H5G_DATASET: number;
  _malloc(bytes: number): number;
  _free(pointer: number): void;
  activate_throwing_error_handler(): number;
  open(path: string, mode?: number, trackOrder?: boolean, versionLow?: number, versionHigh?: number): bigint;
  close_file(file: bigint): number;
  get_type(file: bigint, path: string): number;
  get_names(file: bigint, path: string, recursive: boolean): string[];
  get_symbolic_link(file: bigint, path: string): string | null;
  get_external_link(file: bigint, path: string): { readonly filename?: string; readonly obj_path?: string };
  create_object_reference(file: bigint, path: string): ArrayLike<number>;
  get_attribute_names(file: bigint, path: string): string[];
  get_attribute_metadata(file: bigint, path: string, name: string): ModuleMetadata;
  get_attribute_data(file: bigint, path: string, name: string, pointer: bigint): number;
  get_dataset_metadata(file: bigint, path: string): ModuleMetadata;
  get_dataset_filters(file: bigint, path: string): { readonly id: number; readonly name: string }[];
  get_dataset_data(
    file: bigint,
    path: string,
    count: bigint[] | null,
    offset: bigint[] | null,
    strides: bigint[] | null,
    pointer: bigint,
  ): number;
  reclaim_vlen_memory(file: bigint, path: string, attribute: string, pointer: bigint): number;
}

/** Type classes of HDF5 (H5Tpublic.h, H5T_class_t). */
export const TYPE_CLASS = { integer: 0, float: 1, string: 3, bitfield: 4, compound: 6, enumeration: 8 } as const;

const stopped = new WeakSet<H5wasmModule>();

/**
 * True once WebAssembly trapped inside the module: nothing it does after that can be relied on. A damaged LZF chunk does
 * that (its plug-in calls a function that the module lacks), so hosts start a fresh module then.
 */
export function hasStopped(module: H5wasmModule): boolean {
  return stopped.has(module);
}

const STACK_LINE = /^\s*#\d+: .* in \w+\(\): (.*)$/;

/**
 * Runs one call into the module. HDF5's error stack becomes an exception whose message is its innermost lines.
 * The throwing handler writes the stack to a temporary file and leaves it open, so it is closed here: a program that
 * meets many damaged files would run out of descriptors.
 */
export function callModule<T>(module: H5wasmModule, call: () => T): T {
  if (stopped.has(module)) throw new Hdf5Failure("damage in a file stopped the HDF5 library");
  try {
    return call();
  } catch (error) {
    if (isTrap(error)) stopped.add(module);
    else closeErrorFiles(module.FS);
    throw new Hdf5Failure(innermostLines(error), { cause: error });
  }
}

/** What engines throw when WebAssembly traps, or calls a function that is not there; HDF5's own errors are plain ones. */
function isTrap(error: unknown): boolean {
  return error instanceof TypeError || (error instanceof Error && error.name === "RuntimeError");
}

interface StreamTable {
  readonly streams: readonly ({ readonly path?: string } | null | undefined)[];
  open(path: string, flags: number): object;
  close(stream: object): void;
}

const STANDARD_OUTPUT = 1;
const STANDARD_ERROR = 2;
const WRITE_ONLY = 1;

/**
 * Sends what the module prints to nowhere: the plug-in of LZ4 prints a line for each damaged chunk, which would end up in
 * the answer of a command. The fault that comes with it says the same.
 */
export function quieten({ FS: fs }: H5wasmModule): void {
  if (!("streams" in fs && Array.isArray(fs.streams))) return;
  const table = fs as StreamTable;
  for (const number of [STANDARD_OUTPUT, STANDARD_ERROR]) {
    const stream = table.streams[number];
    if (stream === null || stream === undefined || stream.path === "/dev/null") continue;
    table.close(stream);
    // Takes the lowest number that is free, which is the one just given up.
    table.open("/dev/null", WRITE_ONLY);
  }
}

function closeErrorFiles(fs: object): void {
  if (!("streams" in fs && Array.isArray(fs.streams))) return;
  const table = fs as StreamTable;
  for (const stream of table.streams) if (stream?.path?.startsWith("/tmp/tmpfile_") === true) table.close(stream);
}

/** A call that HDF5 refused; never leaves core/formats/hdf5. */
export class Hdf5Failure extends Error {}

function innermostLines(error: unknown): string {
  const text = error instanceof Error ? error.message : String(error);
  const reasons = text.split("\n").flatMap((line) => STACK_LINE.exec(line)?.[1] ?? []);
  if (reasons.length === 0) return text.trim().split("\n")[0] ?? "no reason given";
  const last = reasons.at(-1)!;
  const before = reasons.at(-2);
  return before === undefined ? last : `${last} (${before})`;
}
