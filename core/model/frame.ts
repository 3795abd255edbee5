import type { RunMetadata, Sourced } from "./metadata.ts";
import type { Result } from "./result.ts";

/** Pixel values as a file stores them. Integers are Poisson counts; floats carry no variance unless one is given. */
export type PixelArray =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array;

/** Where row 0 of the picture stands on screen. */
export type RowOrder = "bottom-up" | "top-down";

/**
 * How stored rows and columns lie in the picture. `transpose` comes first: with it, stored rows run along x and stored
 * columns along y. `rowOrder` then says whether the picture's row 0 is at the bottom or at the top.
 */
export interface Orientation {
  readonly rowOrder: RowOrder;
  readonly transpose: boolean;
}

/** One detector image, in stored order: index = y * width + x, x the column, y the row. */
export interface Frame extends Orientation {
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray;
  /** Variance of each pixel where the file gives one; absent: Poisson, the counts themselves. */
  readonly variance?: Float64Array;
  /** Mask bits (see mask.ts) that the file itself implies: gaps, dead pixels, saturation, values that aren't finite. */
  readonly mask: Uint16Array;
  readonly warnings: readonly string[];
}

/** What the frames of a stack differ in. */
export interface StackAxis {
  readonly kind: "none" | "frame" | "time" | "wavelength" | "spin";
  readonly unit?: string;
  /** One value a frame, or one more than frames: edges. */
  readonly values?: Float64Array;
}

/** One detector of a run: a stack of frames along one labelled axis, read one at a time. */
export interface Bank extends Orientation {
  readonly name: string;
  /** Where the pixels stand in the file. */
  readonly path: string;
  readonly width: number;
  readonly height: number;
  readonly frames: number;
  readonly axis: StackAxis;
  /** True where pixel values are whole counts, so that Poisson variance holds. */
  readonly counting: boolean;
  /** What holds for this bank alone; wins over the run's. */
  readonly metadata: RunMetadata;
  readFrame(index: number, signal: AbortSignal): Promise<Result<Frame>>;
}

/** What a file holds. The pixels stay in the file until `readFrame`; `close` releases it. */
export interface Run {
  readonly name: string;
  /** Reader id and its title for people: "nexus", "NeXus/HDF5". */
  readonly format: string;
  readonly formatTitle: string;
  readonly banks: readonly Bank[];
  readonly metadata: RunMetadata;
  /** Values that were found too but not taken, by metadata key; shown, never used. */
  readonly alternatives: Readonly<Record<string, readonly Sourced<number | string | readonly number[]>[]>>;
  /** What was chosen and why, and what is doubtful. */
  readonly notes: readonly string[];
  readonly warnings: readonly string[];
  close(): void;
}
