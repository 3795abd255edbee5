import { failure, type Result, success } from "../../model/result.ts";
import { withRoomFor } from "./bound-memory.ts";
import { decodeNumbers, decodeText, isNumericType, typeName } from "./decode-values.ts";
import { filterName, isBuiltIn, pluginFile } from "./filters.ts";
import {
  callModule,
  type H5wasmModule,
  Hdf5Failure,
  type ModuleMetadata,
  quieten,
  TYPE_CLASS,
} from "./h5wasm-module.ts";
import type { Hdf5Attribute, Hdf5Dataset, Hdf5File, Hdf5Group, NumericArray } from "./hdf5-file.ts";
import { type Hdf5Place, resolveLinks } from "./links.ts";

/** Bytes of one read. The module's heap ends at 2 GiB and never shrinks. */
const READ_LIMIT = 2 ** 30;
const ATTRIBUTE_LIMIT = 2 ** 20;
const ATTRIBUTES_PER_OBJECT = 1000;
const CHILDREN_LIMIT = 100_000;
const TEXT_LIMIT = 2 ** 20;
/** Other files that links of one may lead to. */
const FILES_BESIDE = 64;

export interface OpenOptions {
  /** Bare file name, for messages. */
  readonly name: string;
  /** Where the module's file system has it. */
  readonly path: string;
  /** Releases what the host set up for this file; called once, after HDF5 closed it or failed to open it. */
  readonly release?: () => void;
  /** Where a file lies that `from` names in a link; a fault where it is not there or outside the first file's folder. */
  readonly findBeside?: (from: string, fileName: string) => Result<string>;
  /** Makes a filter plug-in available to the module; false: this host has none of that name. */
  readonly loadPlugin: (fileName: string) => Promise<boolean>;
}

/**
 * Opens a file through h5wasm, whose own reads deliver stale memory where HDF5 failed. With the throwing handler on and
 * every status checked, damage is a fault here.
 */
export function openH5wasmFile(module: H5wasmModule, options: OpenOptions): Result<Hdf5File> {
  module.activate_throwing_error_handler();
  quieten(module);
  try {
    const id = callModule(module, () => module.open(options.path, 0, false, -1, -1));
    if (id < 0n) throw new Hdf5Failure("the library gave no handle");
    return success(new H5wasmFile(module, id, options));
  } catch (error) {
    options.release?.();
    return openingFault(options.name, failureText(error));
  }
}

function openingFault(name: string, reason: string): ReturnType<typeof failure> {
  const place = { file: name };
  const truncated = /truncated file: eof = (\d+).*stored_eof = (\d+)/.exec(reason);
  if (truncated !== null)
    return failure(
      "incomplete",
      `${name} ends at byte ${truncated[1]}; its HDF5 header says ${truncated[2]}: it is cut off, or still being written`,
      place,
    );
  if (/already open for write|file is already open/.test(reason))
    return failure("incomplete", `${name} is marked as open for writing: it is not complete yet`, place);
  return failure("unreadable", `${name} does not open as HDF5: ${reason}`, place);
}

function failureText(error: unknown): string {
  if (error instanceof Hdf5Failure) return error.message;
  throw error;
}

class H5wasmFile implements Hdf5File {
  readonly name: string;
  readonly #module: H5wasmModule;
  readonly #file: bigint;
  readonly #options: OpenOptions;
  readonly #notes = new Set<string>();
  readonly #plugins = new Set<number>();
  /** Where groups are, links on the way followed. */
  readonly #groups = new Map<string, Hdf5Place>();
  /** Files beside this one that links led to, by where the module has them. */
  readonly #beside = new Map<string, bigint>();
  #open = true;

  constructor(module: H5wasmModule, file: bigint, options: OpenOptions) {
    this.#module = module;
    this.#file = file;
    this.#options = options;
    this.name = options.name;
  }

  get notes(): readonly string[] {
    return [...this.#notes];
  }

  node(path: string): Result<Hdf5Group | Hdf5Dataset> {
    return this.#at<Hdf5Group | Hdf5Dataset>(path, (place) => {
      const kind = this.#call(() => this.#module.get_type(place.file, place.path));
      const inFile = this.#call(() => this.#module.create_object_reference(place.file, place.path));
      const address = `${place.file === this.#file ? "" : `${place.file}:`}${Array.from(inFile).join(".")}`;
      if (kind === this.#module.H5G_GROUP) {
        const names = this.#call(() => this.#module.get_names(place.file, place.path, false));
        if (names.length > CHILDREN_LIMIT)
          this.#notes.add(`${place.path}: only the first ${CHILDREN_LIMIT} of ${names.length} items`);
        const children = names.slice(0, CHILDREN_LIMIT);
        return success({ kind: "group", path, address, attributes: this.#attributes(place), children } as const);
      }
      if (kind !== this.#module.H5G_DATASET)
        return failure("unsupported", `${path} is neither a group nor a dataset`, { file: this.name, field: path });
      const metadata = this.#metadata(place);
      const dataset: Hdf5Dataset = {
        kind: "dataset",
        path,
        address,
        attributes: this.#attributes(place),
        // A null dataspace holds nothing: a length of 0 says so.
        shape: metadata.shape ?? [0],
        type: typeName(metadata),
        bytesPerElement: metadata.size,
        filters: this.#filters(place),
      };
      return success(dataset);
    });
  }

  async prepare(path: string): Promise<Result<undefined>> {
    const needed = this.#at(path, (place) => success(this.#filters(place)));
    if (!needed.ok) return needed;
    for (const id of needed.value) {
      const file = pluginFile(id);
      if (file === undefined || this.#plugins.has(id)) continue;
      if (await this.#options.loadPlugin(file)) this.#plugins.add(id);
    }
    const missing = this.#missingFilter(path, needed.value);
    return missing ?? success(undefined);
  }

  read(path: string, slice?: readonly (readonly [number, number])[]): Result<NumericArray> {
    return this.#at(path, (place) => {
      const metadata = this.#metadata(place);
      const type = typeName(metadata);
      if (!isNumericType(type))
        return failure("unsupported", `${path} holds ${type} values, not numbers`, { file: this.name, field: path });
      const shape = metadata.shape ?? [0];
      const outside = sliceFault(path, shape, slice);
      if (outside !== undefined) return failure("out-of-range", outside, { file: this.name, field: path });
      const missing = this.#missingFilter(path, this.#filters(place)) ?? this.#virtualFault(path, place, metadata);
      if (missing !== undefined) return missing;
      const count = slice === undefined ? shape : slice.map(([start, end]) => end - start);
      const bytes = this.#readBytes(path, place, metadata, count, slice);
      return bytes.ok ? decodeNumbers(bytes.value, type, path) : bytes;
    });
  }

  readText(path: string): Result<readonly string[]> {
    return this.#at(path, (place) => {
      const metadata = this.#metadata(place);
      if (metadata.type !== TYPE_CLASS.string)
        return failure("unsupported", `${path} is not text`, { file: this.name, field: path });
      const missing = this.#missingFilter(path, this.#filters(place)) ?? this.#virtualFault(path, place, metadata);
      if (missing !== undefined) return missing;
      if (metadata.shape === null) return success([]);
      if (metadata.size * metadata.total_size > TEXT_LIMIT)
        return failure("unsupported", `${path} holds more than ${TEXT_LIMIT} bytes of text`, {
          file: this.name,
          field: path,
        });
      return success(
        this.#texts(place, "", metadata, (pointer) =>
          this.#module.get_dataset_data(place.file, place.path, null, null, null, pointer),
        ),
      );
    });
  }

  close(): void {
    if (!this.#open) return;
    this.#open = false;
    try {
      for (const file of [...this.#beside.values(), this.#file]) this.#call(() => this.#module.close_file(file));
    } catch (error) {
      // A library that stopped can't close anything: it is dropped as a whole. Anything else is passed on.
      failureText(error);
    } finally {
      this.#options.release?.();
    }
  }

  /** Resolves the path, runs `work` on the object itself, and turns what HDF5 refused into a fault. */
  #at<T>(path: string, work: (place: Hdf5Place) => Result<T>): Result<T> {
    if (!this.#open) return failure("unreadable", `${this.name} is closed`, { file: this.name, field: path });
    try {
      const place = resolveLinks(this.#module, path, {
        root: this.#file,
        groups: this.#groups,
        openBeside: (from, fileName) => this.#openBeside(from, fileName),
      });
      if (!place.ok) return failure(place.fault.code, place.fault.message, { file: this.name, field: path });
      return work(place.value);
    } catch (error) {
      return failure("unreadable", `${path} can't be read: ${failureText(error)}`, { file: this.name, field: path });
    }
  }

  #pathOf(file: bigint): string {
    return [...this.#beside].find(([, id]) => id === file)?.[0] ?? this.#options.path;
  }

  /** Where the module has a file that one of these names: only inside the first one's folder. */
  #placeBeside(from: bigint, fileName: string): Result<string> {
    if (this.#options.findBeside === undefined)
      return failure("unsupported", "links out of the file are not followed here");
    return this.#options.findBeside(this.#pathOf(from), fileName);
  }

  #openBeside(from: bigint, fileName: string): Result<bigint> {
    const found = this.#placeBeside(from, fileName);
    if (!found.ok) return found;
    const known = this.#beside.get(found.value);
    if (known !== undefined) return success(known);
    if (this.#beside.size >= FILES_BESIDE) return failure("unsupported", `more than ${FILES_BESIDE} files are linked`);
    try {
      const file = this.#call(() => this.#module.open(found.value, 0, false, -1, -1));
      if (file < 0n) throw new Hdf5Failure("the library gave no handle");
      this.#beside.set(found.value, file);
      this.#notes.add(`"${fileName}" beside it was read too: links lead there`);
      return success(file);
    } catch (error) {
      return openingFault(fileName, failureText(error));
    }
  }

  #call<T>(call: () => T): T {
    return callModule(this.#module, call);
  }

  #metadata(place: Hdf5Place): ModuleMetadata {
    return this.#call(() => this.#module.get_dataset_metadata(place.file, place.path));
  }

  #filters(place: Hdf5Place): number[] {
    return this.#call(() => this.#module.get_dataset_filters(place.file, place.path)).map(({ id }) => id);
  }

  #missingFilter(path: string, filters: readonly number[]): ReturnType<typeof failure> | undefined {
    const id = filters.find((filter) => !isBuiltIn(filter) && !this.#plugins.has(filter));
    return id === undefined
      ? undefined
      : failure(
          "unsupported",
          `${path} is compressed with filter ${id} (${filterName(id)}), which this build can't undo`,
          { file: this.name, field: path },
        );
  }

  /** HDF5 reads the parts of a virtual dataset by itself, and takes fill values for a file that is missing. */
  #virtualFault(path: string, place: Hdf5Place, metadata: ModuleMetadata): ReturnType<typeof failure> | undefined {
    for (const fileName of new Set(metadata.virtual_sources?.map(({ file_name }) => file_name))) {
      if (fileName === ".") continue;
      const found = this.#placeBeside(place.file, fileName);
      if (!found.ok)
        return failure(
          found.fault.code,
          `${path} is put together from another file ("${fileName}"): ${found.fault.message}`,
          { file: this.name, field: path },
        );
    }
    return undefined;
  }

  #readBytes(
    path: string,
    place: Hdf5Place,
    metadata: ModuleMetadata,
    count: readonly number[],
    slice: readonly (readonly [number, number])[] | undefined,
  ): Result<Uint8Array<ArrayBuffer>> {
    const size = count.reduce((product, n) => product * n, metadata.size);
    if (!(size <= READ_LIMIT))
      return failure(
        "out-of-range",
        `${path} would take ${size} bytes (${count.join(" x ")} of ${metadata.size}); the limit of one read is ${READ_LIMIT}`,
        { file: this.name, field: path },
      );
    if (size === 0) return success(new Uint8Array(0));
    const whole = slice === undefined || slice.length === 0;
    const read = (pointer: number): Result<Uint8Array<ArrayBuffer>> => {
      const status = this.#call(() =>
        this.#module.get_dataset_data(
          place.file,
          place.path,
          whole ? null : count.map(BigInt),
          whole ? null : slice.map(([start]) => BigInt(start)),
          whole ? null : count.map(() => 1n),
          BigInt(pointer),
        ),
      );
      if (status < 0) throw new Hdf5Failure(`status ${status}`);
      return success(this.#module.HEAPU8.slice(pointer, pointer + size) as Uint8Array<ArrayBuffer>);
    };
    return withRoomFor(this.#module, size, () => this.#withMemory(size, read));
  }

  #withMemory<T>(bytes: number, work: (pointer: number) => T): T {
    const pointer = this.#module._malloc(bytes);
    if (pointer === 0) throw new Hdf5Failure(`no memory for ${bytes} bytes`);
    try {
      // Zeroed, so that a string or a list that HDF5 left out is empty rather than whatever stood there.
      this.#module.HEAPU8.fill(0, pointer, pointer + bytes);
      return work(pointer);
    } finally {
      this.#module._free(pointer);
    }
  }

  #attributes(place: Hdf5Place): ReadonlyMap<string, Hdf5Attribute> {
    const names = this.#call(() => this.#module.get_attribute_names(place.file, place.path));
    const attributes = new Map<string, Hdf5Attribute>();
    for (const name of names.slice(0, ATTRIBUTES_PER_OBJECT)) {
      const value = this.#attribute(place, name);
      if (value !== undefined) attributes.set(name, value);
    }
    return attributes;
  }

  /** Undefined for types that carry no text and no number, and (with a note) for attributes that can't be read. */
  #attribute(place: Hdf5Place, name: string): Hdf5Attribute | undefined {
    try {
      const metadata = this.#call(() => this.#module.get_attribute_metadata(place.file, place.path, name));
      const size = metadata.size * metadata.total_size;
      if (metadata.shape === null || size === 0) return undefined;
      if (!(size <= ATTRIBUTE_LIMIT)) throw new Hdf5Failure(`${size} bytes are too many for an attribute`);
      const fill = (pointer: bigint) => this.#module.get_attribute_data(place.file, place.path, name, pointer);
      if (metadata.type === TYPE_CLASS.string) {
        const texts = this.#texts(place, name, metadata, fill);
        return texts.length === 1 ? texts[0] : texts;
      }
      const type = typeName(metadata);
      if (!isNumericType(type)) return undefined;
      const bytes = this.#withMemory(size, (pointer) => {
        if (this.#call(() => fill(BigInt(pointer))) < 0) throw new Hdf5Failure("no value");
        return this.#module.HEAPU8.slice(pointer, pointer + size) as Uint8Array<ArrayBuffer>;
      });
      const numbers = decodeNumbers(bytes, type, `${place}@${name}`);
      if (!numbers.ok) throw new Hdf5Failure(numbers.fault.message);
      return numbers.value.length === 1 ? numbers.value[0]! : Array.from(numbers.value);
    } catch (error) {
      this.#notes.add(`attribute ${name} of ${place} can't be read: ${failureText(error)}`);
      return undefined;
    }
  }

  #texts(place: Hdf5Place, attribute: string, metadata: ModuleMetadata, fill: (pointer: bigint) => number): string[] {
    const { size, total_size: n } = metadata;
    if (n === 0) return [];
    return this.#withMemory(size * n, (pointer) => {
      const status = this.#call(() => fill(BigInt(pointer)));
      if (status < 0) throw new Hdf5Failure(`status ${status}`);
      const heap = this.#module.HEAPU8;
      const texts: string[] = [];
      const add = (bytes: Uint8Array): void => {
        const { text, isLatin1 } = decodeText(bytes);
        if (isLatin1)
          this.#notes.add(
            `${attribute === "" ? place.path : `${place.path}@${attribute}`} is not UTF-8: read as Latin-1`,
          );
        texts.push(text);
      };
      if (!metadata.vlen) {
        for (let i = 0; i < n; i++) add(heap.slice(pointer + i * size, pointer + (i + 1) * size));
        return texts;
      }
      const pointers = new Uint32Array(heap.slice(pointer, pointer + 4 * n).buffer);
      for (const at of pointers) {
        const end = at === 0 ? 0 : heap.indexOf(0, at);
        add(heap.slice(at, Math.min(end < 0 ? heap.length : end, at + TEXT_LIMIT)));
      }
      this.#call(() => this.#module.reclaim_vlen_memory(place.file, place.path, attribute, BigInt(pointer)));
      return texts;
    });
  }
}

function sliceFault(
  path: string,
  shape: readonly number[],
  slice: readonly (readonly [number, number])[] | undefined,
): string | undefined {
  if (slice === undefined) return undefined;
  if (slice.length !== shape.length) return `${path} has ${shape.length} dimensions; the slice has ${slice.length}`;
  for (const [d, [start, end]] of slice.entries())
    if (!(Number.isInteger(start) && Number.isInteger(end) && 0 <= start && start < end && end <= shape[d]!))
      return `${path}: ${start}..${end} lies outside dimension ${d}, which is ${shape[d]} long`;
  return undefined;
}
