import type { H5wasmModule } from "./h5wasm-module.ts";

/** Bytes that the module's memory may grow to for its own needs: caches, one packed chunk and its pixels. */
const OWN_NEEDS = 2 ** 28;
/** Largest read in progress, by module. */
const reads = new WeakMap<H5wasmModule, number>();

/** The prototype of WebAssembly.Memory, of which the hosts hand in the real one. */
export interface MemoryPrototype {
  readonly buffer: ArrayBuffer;
  grow(pages: number): number;
}

const PAGE = 2 ** 16;

/**
 * Keeps the module's memory within 256 MiB and twice what is being read. A text whose length a damaged file gives as 2 GB
 * made the library take and clear that much before it looked for the text (7 s). What it is refused it reports as a
 * failed allocation. The module keeps its memory object to itself, so the one whose buffer is the module's is looked for
 * as it grows; other memories are left alone.
 */
export function boundMemory(prototype: MemoryPrototype, module: H5wasmModule): void {
  const { grow } = prototype;
  prototype.grow = function (this: MemoryPrototype, pages: number): number {
    const limit = OWN_NEEDS + 2 * (reads.get(module) ?? 0);
    if (this.buffer === module.HEAPU8.buffer && this.buffer.byteLength + pages * PAGE > limit)
      throw new RangeError(`the HDF5 library may not take more than ${limit} bytes`);
    return grow.call(this, pages);
  };
}

/** Runs a read of `bytes`, for which the memory may grow accordingly. */
export function withRoomFor<T>(module: H5wasmModule, bytes: number, read: () => T): T {
  reads.set(module, bytes);
  try {
    return read();
  } finally {
    reads.delete(module);
  }
}
