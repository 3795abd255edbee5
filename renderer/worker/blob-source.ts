import type { BlobSource } from "./open-hdf5.ts";

/** A file of the window, as the readers want it. The blob's bytes stay with the browser until they are read. */
export function blobSource(name: string, blob: Blob): BlobSource {
  return {
    name,
    size: blob.size,
    blob,
    read: async (start, end) => new Uint8Array(await blob.slice(start, end).arrayBuffer()),
  };
}
