import { Gunzip, Inflate, Unzlib } from "fflate";

/** What went wrong while unpacking; readers turn it into a fault that names the file. */
export class PackedDataError extends Error {}

const PIECE = 1 << 16;

/**
 * Unpacks deflate data ("raw", "zlib" or "gzip" framing) in pieces, and stops as soon as the result grows beyond
 * `limit` bytes, so that no packed file can take more memory than that.
 *
 * @throws PackedDataError on damage, on data that end early, and beyond the limit
 */
export function inflateBounded(
  packed: Uint8Array,
  framing: "raw" | "zlib" | "gzip",
  limit: number,
): Uint8Array<ArrayBuffer> {
  const parts: Uint8Array[] = [];
  let size = 0;
  let finished = false;
  const take = (part: Uint8Array, final: boolean): void => {
    size += part.length;
    if (size > limit) throw new PackedDataError(`it unpacks to more than ${limit} bytes`);
    parts.push(part);
    finished ||= final;
  };
  const stream = framing === "raw" ? new Inflate(take) : framing === "zlib" ? new Unzlib(take) : new Gunzip(take);
  try {
    for (let at = 0; at < packed.length; at += PIECE) {
      const end = Math.min(at + PIECE, packed.length);
      stream.push(packed.subarray(at, end), end === packed.length);
    }
  } catch (error) {
    if (error instanceof PackedDataError) throw error;
    throw new PackedDataError(error instanceof Error ? error.message : String(error), { cause: error });
  }
  if (!finished) throw new PackedDataError("the packed data end early");
  return joinParts(parts, size);
}

/** One array of parts that add up to `size` bytes. */
export function joinParts(parts: readonly Uint8Array[], size: number): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(size);
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** Adler-32 of RFC 1950. */
export function adler32(bytes: Uint8Array): number {
  let low = 1;
  let high = 0;
  for (let start = 0; start < bytes.length; start += ADLER_RUN) {
    const end = Math.min(start + ADLER_RUN, bytes.length);
    for (let i = start; i < end; i++) {
      low += bytes[i]!;
      high += low;
    }
    low %= ADLER_PRIME;
    high %= ADLER_PRIME;
  }
  return high * 65_536 + low;
}

const ADLER_PRIME = 65_521;
/** So many bytes can be added before the sums pass 2^32 (RFC 1950, section 9). */
const ADLER_RUN = 5552;
