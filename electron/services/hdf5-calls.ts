import type { MessagePort } from "node:worker_threads";
import type { Hdf5Dataset, Hdf5Group, NumericArray } from "../../core/formats/hdf5/hdf5-file.ts";
import type { Result } from "../../core/model/result.ts";

/** What the thread that reads HDF5 is asked: one method of one open file at a time. */
export type Hdf5Call =
  | { readonly kind: "open"; readonly name: string; readonly path: string; readonly isCopy: boolean }
  | { readonly kind: "node" | "prepare" | "readText"; readonly file: number; readonly path: string }
  | {
      readonly kind: "read";
      readonly file: number;
      readonly path: string;
      readonly slice: readonly (readonly [number, number])[] | undefined;
    }
  | { readonly kind: "close"; readonly file: number };

export interface Hdf5Answers {
  /** The number that names the file in later calls. */
  readonly open: number;
  readonly node: Hdf5Group | Hdf5Dataset;
  readonly prepare: undefined;
  readonly readText: readonly string[];
  readonly read: NumericArray;
  readonly close: undefined;
}

export interface Hdf5Answer {
  readonly result: Result<Hdf5Answers[keyof Hdf5Answers]>;
  readonly notes: readonly string[];
  /** A mistake of ours in the thread. */
  readonly bug?: string;
}

/** What the thread is started with. */
export interface Hdf5ThreadData {
  readonly port: MessagePort;
  /** [0] counts the answers sent, so that the asking thread can sleep until one comes; [1] is `threadNumber`. */
  readonly shared: Int32Array;
}
