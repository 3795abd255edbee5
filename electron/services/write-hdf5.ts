import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import h5wasm from "h5wasm/node";
import { writeHdf5Tree } from "../../core/formats/hdf5/write-tree.ts";
import type { WriteHdf5 } from "../../core/report/output-services.ts";

/** Writes HDF5 on Node. The module there writes to real paths only, so the bytes pass through a private folder. */
export const writeHdf5: WriteHdf5 = async (tree) => {
  await h5wasm.ready;
  const folder = await mkdtemp(join(tmpdir(), "halation-"));
  try {
    const path = join(folder, "written.h5");
    writeHdf5Tree(h5wasm, path, tree);
    return new Uint8Array(await readFile(path));
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
};
