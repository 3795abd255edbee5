import h5wasm from "h5wasm";
import { writeHdf5Tree } from "../../core/formats/hdf5/write-tree.ts";
import type { WriteHdf5 } from "../../core/report/output-services.ts";

let written = 0;

/** Writes HDF5 in a worker: into the module's own memory, and out again. */
export const writeHdf5: WriteHdf5 = async (tree) => {
  const { FS } = await h5wasm.ready;
  const path = `/written-${++written}.h5`;
  try {
    writeHdf5Tree(h5wasm, path, tree);
    return new Uint8Array(FS.readFile(path));
  } finally {
    if (FS.analyzePath(path, false).exists) FS.unlink(path);
  }
};
