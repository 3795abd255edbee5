import type { RowOrder, Run } from "../model/frame.ts";
import type { Result } from "../model/result.ts";

/** Bytes of a file, wherever it lies. Readers take what they need by range and never hold more than that. */
export interface ByteSource {
  /** For messages and for ties between text dialects; never decides a format on its own. */
  readonly name: string;
  readonly size: number;
  /** Bytes start <= i < end; shorter only where the file ends. */
  read(start: number, end: number): Promise<Uint8Array<ArrayBuffer>>;
}

/** What to take from a file that holds several things. Nothing given: the reader's written rules decide. */
export interface ReadChoice {
  readonly entry?: string | undefined;
  readonly dataset?: string | undefined;
  readonly rowOrder?: RowOrder | undefined;
  readonly transpose?: boolean | undefined;
}

export interface ReadContext {
  readonly choice: ReadChoice;
  readonly signal: AbortSignal;
  /** How HDF5 files are opened here: by path in Node, over a blob in a worker. */
  readonly openHdf5: OpenHdf5;
}

/** Opens `source` as HDF5. A host supplies it; core wraps what comes back (formats/hdf5). */
export type OpenHdf5 = (source: ByteSource) => Promise<Result<import("./hdf5/hdf5-file.ts").Hdf5File>>;

export interface FormatReader {
  /** Used in plans, messages and test names. */
  readonly id: string;
  readonly title: string;
  /** From the first 4 KiB (and `size`); must not throw, whatever the bytes. */
  sniff(head: Uint8Array, source: { readonly name: string; readonly size: number }): "yes" | "maybe" | "no";
  /** Choices that mean something to this format; any other is refused. */
  readonly choices: readonly ("entry" | "dataset")[];
  open(source: ByteSource, context: ReaderContext): Promise<Result<Run>>;
}

/** What a reader gets: the caller's context, and the way back into the registry for what a container holds. */
export interface ReaderContext extends ReadContext {
  openInner(source: ByteSource, choice: ReadChoice): Promise<Result<Run>>;
}
