import { Gunzip } from "fflate";
import { failure } from "../../model/result.ts";
import { bytesSource } from "../byte-source.ts";
import { joinParts, PackedDataError } from "../inflate.ts";
import { expansionLimit, LIMITS } from "../limits.ts";
import type { FormatReader } from "../reader.ts";
import { crc32 } from "./crc32.ts";

/** gzip around any format that is read here; several members are put together (RFC 1952, section 2.2). */
export const gzipReader: FormatReader = {
  id: "gzip",
  title: "gzip",
  choices: ["entry", "dataset"],
  sniff: (head) => (head[0] === 0x1f && head[1] === 0x8b ? "yes" : "no"),
  async open(source, context) {
    if (source.size > LIMITS.archiveEntryBytes)
      return failure(
        "out-of-range",
        `${source.name} has ${source.size} packed bytes; the limit is ${LIMITS.archiveEntryBytes}`,
        {
          file: source.name,
        },
      );
    try {
      const bytes = gunzip(await source.read(0, source.size), expansionLimit(source.size));
      const name = source.name.replace(/\.gz$/i, "");
      return await context.openInner(bytesSource(name, bytes), context.choice);
    } catch (error) {
      if (!(error instanceof PackedDataError)) throw error;
      return failure("unreadable", `${source.name}: ${error.message}`, { file: source.name });
    }
  },
};

const PIECE = 1 << 16;
const TRAILER = 8;

/** @throws PackedDataError on damage, a checksum that does not match, an early end, and beyond `limit` bytes */
export function gunzip(packed: Uint8Array, limit: number): Uint8Array<ArrayBuffer> {
  const parts: Uint8Array[] = [];
  let size = 0;
  let crc = 0;
  let memberSize = 0;
  const stream = new Gunzip((part) => {
    size += part.length;
    memberSize += part.length;
    if (size > limit)
      throw new PackedDataError(`it unpacks to more than ${limit} bytes from ${packed.length} packed ones`);
    crc = crc32(part, crc);
    parts.push(part);
  });
  const checkMember = (end: number): void => {
    const trailer = new DataView(packed.buffer, packed.byteOffset + end - TRAILER, TRAILER);
    // The size is stored modulo 2^32 and can't be trusted on its own.
    if (trailer.getUint32(0, true) !== crc || trailer.getUint32(4, true) !== memberSize % 2 ** 32)
      throw new PackedDataError("the checksum of the packed data does not match");
    crc = 0;
    memberSize = 0;
  };
  // fflate tells where each member but the first starts; the trailer of the one before ends there.
  stream.onmember = checkMember;
  if (packed.length < 10 + TRAILER)
    throw new PackedDataError(`it ends at byte ${packed.length}; the smallest gzip file has 18`);
  try {
    for (let at = 0; at < packed.length; at += PIECE)
      stream.push(packed.subarray(at, Math.min(at + PIECE, packed.length)));
    stream.push(new Uint8Array(0), true);
  } catch (error) {
    if (error instanceof PackedDataError) throw error;
    throw new PackedDataError(
      `the gzip data are damaged or end early (${error instanceof Error ? error.message : error})`,
      { cause: error },
    );
  }
  checkMember(packed.length);
  return joinParts(parts, size);
}
