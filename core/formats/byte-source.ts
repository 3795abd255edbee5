import type { ByteSource } from "./reader.ts";

/** A source over bytes that are already in memory. */
export function bytesSource(name: string, bytes: Uint8Array<ArrayBuffer>): ByteSource {
  return {
    name,
    size: bytes.length,
    read: async (start, end) => bytes.slice(start, Math.min(end, bytes.length)),
  };
}
