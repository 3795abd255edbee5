// An HDF5 file as plain data, and the one function that writes it. What a file should hold is decided elsewhere
// (simulated frames, reduced curves); how h5wasm wants to be called is known only here.

export type Hdf5AttributeValue = string | number | readonly string[] | Int32Array;

export interface Hdf5TreeDataset {
  readonly kind: "dataset";
  readonly data:
    | string
    | readonly string[]
    | Uint8Array
    | Uint16Array
    | Uint32Array
    | Int32Array
    | Float32Array
    | Float64Array;
  /** Absent: one dimension as long as the data; a text has none. */
  readonly shape?: readonly number[];
  /** Deflate level 1 to 9; absent: stored as it is. Chunks are whole frames of the last two dimensions. */
  readonly deflate?: number;
  readonly attributes?: Readonly<Record<string, Hdf5AttributeValue>>;
}

export interface Hdf5TreeGroup {
  readonly kind: "group";
  readonly attributes?: Readonly<Record<string, Hdf5AttributeValue>>;
  readonly children: Readonly<Record<string, Hdf5TreeGroup | Hdf5TreeDataset | Hdf5HardLink>>;
}

/** A second name for a dataset that stands earlier in the tree; NeXus wants its path in `target` there. */
export interface Hdf5HardLink {
  readonly kind: "link";
  readonly target: string;
}

/** The part of h5wasm that writing needs. */
export interface Hdf5WritingModule {
  readonly File: new (path: string, mode: "w") => WritableFile;
}
interface WritableGroup {
  create_group(name: string): WritableGroup;
  create_dataset(args: {
    name: string;
    data: never;
    shape?: number[] | null;
    dtype?: string | null;
    chunks?: number[] | null;
    compression?: "gzip";
    compression_opts?: number;
  }): WritableNode;
  create_attribute(name: string, data: never, shape?: number[] | null, dtype?: string | null): void;
  create_hard_link(target: string, name: string): number;
}
type WritableNode = Pick<WritableGroup, "create_attribute">;
interface WritableFile extends WritableGroup {
  close(): unknown;
}

const DTYPES: readonly (readonly [new (length: number) => ArrayLike<number>, string])[] = [
  [Uint8Array, "<B"],
  [Uint16Array, "<H"],
  [Uint32Array, "<I"],
  [Int32Array, "<i"],
  [Float32Array, "<f"],
  [Float64Array, "<d"],
];

/**
 * Writes `tree` as a new HDF5 file at `path` of the module's file system.
 *
 * @throws Error where h5wasm refuses, RangeError where a shape does not fit its data
 */
export function writeHdf5Tree(h5: Hdf5WritingModule, path: string, tree: Hdf5TreeGroup): void {
  const file = new h5.File(path, "w");
  try {
    writeGroup(file, tree);
  } finally {
    file.close();
  }
}

function writeGroup(group: WritableGroup, tree: Hdf5TreeGroup): void {
  writeAttributes(group, tree.attributes);
  for (const [name, child] of Object.entries(tree.children)) {
    if (child.kind === "group") writeGroup(group.create_group(name), child);
    else if (child.kind === "dataset") writeDataset(group, name, child);
    else group.create_hard_link(child.target, name);
  }
}

function writeDataset(group: WritableGroup, name: string, dataset: Hdf5TreeDataset): void {
  const { data } = dataset;
  const isText = typeof data === "string";
  const isTextList = Array.isArray(data);
  const shape = isText ? null : [...(dataset.shape ?? [data.length])];
  if (shape !== null && shape.reduce((a, b) => a * b, 1) !== data.length)
    throw new RangeError(`${name}: shape ${shape.join(" x ")} for ${data.length} values`);
  const compressed = dataset.deflate !== undefined && shape !== null && shape.length >= 2;
  const node = group.create_dataset({
    name,
    data: data as never,
    shape,
    dtype: isText || isTextList ? null : dtypeOf(data as ArrayLike<number>),
    ...(compressed && {
      chunks: shape.map((length, dimension) => (dimension < shape.length - 2 ? 1 : length)),
      compression: "gzip" as const,
      compression_opts: dataset.deflate as number,
    }),
  });
  writeAttributes(node, dataset.attributes);
}

function writeAttributes(node: WritableNode, attributes: Readonly<Record<string, Hdf5AttributeValue>> = {}): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "number") {
      // A whole number is written as an integer, as NeXus wants for indices; anything else as a double.
      node.create_attribute(name, value as never, null, Number.isInteger(value) ? "<i" : "<d");
    } else if (value instanceof Int32Array) {
      node.create_attribute(name, value as never, [value.length], "<i");
    } else {
      node.create_attribute(name, value as never);
    }
  }
}

function dtypeOf(data: ArrayLike<number>): string {
  const entry = DTYPES.find(([type]) => data instanceof type);
  if (entry === undefined) throw new RangeError("no HDF5 type for this array");
  return entry[1];
}
