import type { Hdf5File } from "../../core/formats/hdf5/hdf5-file.ts";
import type { OpenHdf5 } from "../../core/formats/reader.ts";
import { failure, type Result } from "../../core/model/result.ts";

/** A file that HDF5 is at work on. */
export interface FileBeingRead {
  /** Path and stamp: another content has another key. */
  readonly key: string;
  readonly name: string;
  /** How much longer than others the call may take for what it delivers, s. */
  readonly more_s?: number;
  /** Its damage stopped the library, which reads nothing more in this worker. */
  readonly hasStopped?: true;
}

/** Bytes that HDF5 unpacks in a second at the least, on a small computer. */
const BYTES_A_SECOND = 2 ** 26;
const LARGEST_ELEMENT = 8;
/** Calls that may take so much longer, s, are told of one by one. */
const LONG_CALL = 1;

/** Between two signs of life, ms: a call takes some 0.05 ms, a message about as long. */
const TELL_EVERY = 1000;

/** Lets a watch say that HDF5 rests, before a long sum keeps it from being heard. */
export function rest(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, 0));
}

/**
 * Tells the window when HDF5 is at work, since a damaged file can hold it up without end, and nothing inside this worker
 * could notice that; and when one has stopped the library. The window ends such a worker, and the next one is told to
 * leave the file alone.
 */
export class ReadingWatch {
  readonly #tell: (file: FileBeingRead | undefined) => void;
  readonly #hasStopped: () => boolean;
  readonly #avoided = new Map<string, string>();
  #told = Number.NEGATIVE_INFINITY;
  #ending: ReturnType<typeof setTimeout> | undefined;

  /**
   * @param tell called as work on a file begins, about every second while it goes on, and with undefined once it rests
   * @param hasStopped whether the library is at its end
   */
  constructor(tell: (file: FileBeingRead | undefined) => void, hasStopped: () => boolean = () => false) {
    this.#tell = tell;
    this.#hasStopped = hasStopped;
  }

  avoid(key: string, reason: string): void {
    this.#avoided.set(key, reason);
  }

  /** A fault for a file that ended an earlier worker. */
  check({ key, name }: FileBeingRead): Result<undefined> {
    const reason = this.#avoided.get(key);
    return reason === undefined ? { ok: true, value: undefined } : failure("unreadable", reason, { file: name });
  }

  /** `openHdf5` for one file, each call told. */
  over(openHdf5: OpenHdf5, file: FileBeingRead): OpenHdf5 {
    return async (source) => {
      const opened = await this.#during(file, () => openHdf5(source));
      this.#look(file);
      return opened.ok ? { ok: true, value: this.#watched(opened.value, file) } : opened;
    };
  }

  #watched(inner: Hdf5File, file: FileBeingRead): Hdf5File {
    return {
      name: inner.name,
      get notes() {
        return inner.notes;
      },
      node: (path) => this.#during(file, () => inner.node(path)),
      prepare: (path) => this.#during(file, () => inner.prepare(path)),
      read: (path, slice = []) => {
        const values = slice.reduce((product, [start, end]) => product * (end - start), 1);
        const more_s = (values * LARGEST_ELEMENT) / BYTES_A_SECOND;
        const asked = slice.length === 0 ? undefined : slice;
        return this.#during({ ...file, more_s }, () => inner.read(path, asked));
      },
      readText: (path) => this.#during(file, () => inner.readText(path)),
      // Later, as a long sum may follow at once, and would be taken for HDF5 at work.
      close: () => void setTimeout(() => this.#during(file, () => inner.close()), 0),
    };
  }

  #during<T>(file: FileBeingRead, call: () => T): T {
    const now = performance.now();
    if (this.#ending === undefined || now - this.#told >= TELL_EVERY || (file.more_s ?? 0) >= LONG_CALL) {
      this.#told = now;
      this.#tell(file);
    }
    // Runs as soon as this worker does something else than calling HDF5 without a pause.
    this.#ending ??= setTimeout(() => {
      this.#ending = undefined;
      this.#tell(undefined);
    }, 0);
    const result = call();
    this.#look(file);
    return result;
  }

  #look(file: FileBeingRead): void {
    if (this.#hasStopped()) this.#tell({ ...file, hasStopped: true });
  }
}
