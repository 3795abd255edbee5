import type { Result } from "../../model/result.ts";

export type Hdf5Attribute = string | number | bigint | readonly (string | number | bigint)[];

export interface Hdf5Group {
  readonly kind: "group";
  readonly path: string;
  readonly attributes: ReadonlyMap<string, Hdf5Attribute>;
  /** Names of the children in file order; a link that leads nowhere is still listed. */
  readonly children: readonly string[];
}

export interface Hdf5Dataset {
  readonly kind: "dataset";
  readonly path: string;
  readonly attributes: ReadonlyMap<string, Hdf5Attribute>;
  readonly shape: readonly number[];
  /** Element type in words: "uint32", "float64", "string", "compound". */
  readonly type: string;
  readonly bytesPerElement: number;
  readonly filters: readonly number[];
}

/**
 * An open HDF5 file. Everything that a file can get wrong comes back as a fault that names the path; nothing throws and
 * no read returns stale memory. The one implementation wraps h5wasm (hdf5/h5wasm-file.ts).
 */
export interface Hdf5File {
  readonly name: string;
  node(path: string): Result<Hdf5Group | Hdf5Dataset>;
  /** A number array of a numeric dataset, or of a slice of it: per dimension [start, end). */
  read(path: string, slice?: readonly (readonly [number, number])[]): Result<NumericArray>;
  /** Strings of a string dataset of any rank, trimmed of padding. */
  readText(path: string): Result<readonly string[]>;
  close(): void;
}

export type NumericArray =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array
  | BigInt64Array
  | BigUint64Array;
