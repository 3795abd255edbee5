import type { Result } from "../../model/result.ts";

export type Hdf5Attribute = string | number | readonly string[] | readonly number[];

export interface Hdf5Group {
  readonly kind: "group";
  readonly path: string;
  /** The object's address in the file: equal for all hard links to it, so that a walker can tell cycles. */
  readonly address: string;
  readonly attributes: ReadonlyMap<string, Hdf5Attribute>;
  /** Names of the children in file order; a link that leads nowhere is still listed. */
  readonly children: readonly string[];
}

export interface Hdf5Dataset {
  readonly kind: "dataset";
  readonly path: string;
  readonly address: string;
  readonly attributes: ReadonlyMap<string, Hdf5Attribute>;
  readonly shape: readonly number[];
  /** Element type in words: "uint32", "float64", "boolean", "string", "compound". */
  readonly type: string;
  readonly bytesPerElement: number;
  /** Numbers of the filters in the pipeline, in the order they were applied on writing. */
  readonly filters: readonly number[];
}

/**
 * An open HDF5 file. Everything that a file can get wrong comes back as a fault that names the path; nothing throws and
 * no read returns stale memory. The one implementation wraps h5wasm (hdf5/h5wasm-file.ts).
 */
export interface Hdf5File {
  readonly name: string;
  /** Oddities met so far that were put right, for the person to know: text that was not UTF-8. */
  readonly notes: readonly string[];
  node(path: string): Result<Hdf5Group | Hdf5Dataset>;
  /** Makes sure that the filters of a dataset can be undone; call it before `read` on anything compressed. */
  prepare(path: string): Promise<Result<undefined>>;
  /** A number array of a numeric dataset, or of a slice of it: per dimension [start, end). 64-bit integers as float64. */
  read(path: string, slice?: readonly (readonly [number, number])[]): Result<NumericArray>;
  /** Strings of a string dataset of any rank, trimmed of padding. */
  readText(path: string): Result<readonly string[]>;
  close(): void;
}

export type NumericArray =
  | Uint8Array<ArrayBuffer>
  | Int8Array<ArrayBuffer>
  | Uint16Array<ArrayBuffer>
  | Int16Array<ArrayBuffer>
  | Uint32Array<ArrayBuffer>
  | Int32Array<ArrayBuffer>
  | Float32Array<ArrayBuffer>
  | Float64Array<ArrayBuffer>;
