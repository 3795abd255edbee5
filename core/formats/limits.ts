import { failure, type Result, success } from "../model/result.ts";

/** Bounds that no file may cross, whatever its header claims. Sizes are checked against them before memory is taken. */
export const LIMITS = {
  framePixels: 2 ** 26,
  headBytes: 4096,
  /** Half of the longest text that a JavaScript engine holds. */
  textBytes: 2 ** 28,
  archiveEntryBytes: 2 ** 30,
  archiveEntries: 10_000,
  /** Expanded over packed size, applied above `ratioFreeBytes`. */
  archiveRatio: 1000,
  ratioFreeBytes: 2 ** 26,
  containerDepth: 2,
  xmlBytes: 2 ** 26,
  xmlDepth: 64,
  /** Finding an item costs HDF5 the square of its depth; NeXus files are some 10 deep. */
  hdf5Depth: 32,
  hdf5Objects: 100_000,
  /** Sum of 4 + depth^2 over the listed items, since HDF5 takes so long to find one: some 5 s on a small computer. */
  hdf5Work: 400_000,
  npyHeaderBytes: 2 ** 16,
  tiffPages: 65_536,
} as const;

/** Most bytes that a file of `size` bytes may claim to hold unpacked: small claims are free, large ones need a file. */
export function expansionLimit(size: number): number {
  return Math.min(LIMITS.archiveEntryBytes, Math.max(LIMITS.ratioFreeBytes, LIMITS.archiveRatio * size));
}

/** Refuses a frame that is empty or too large. `what` names it in the message. */
export function checkFrameSize(what: string, width: number, height: number): Result<undefined> {
  if (Number.isNaN(width) || Number.isNaN(height))
    return failure("unreadable", `${what} does not say how wide and high it is`);
  if (!(Number.isSafeInteger(width) && Number.isSafeInteger(height) && width >= 1 && height >= 1))
    return failure("inconsistent", `${what} has a dimension of length 0 (${width} x ${height} pixels)`);
  // Neither factor can overflow: both are checked against the limit first.
  if (width > LIMITS.framePixels || height > LIMITS.framePixels || width * height > LIMITS.framePixels)
    return failure("out-of-range", `${what} declares ${width} x ${height} pixels; the limit is ${LIMITS.framePixels}`);
  return success(undefined);
}
