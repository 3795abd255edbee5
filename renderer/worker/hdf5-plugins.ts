import type { FetchPlugin } from "./open-hdf5.ts";

/** Filters that are not built into the HDF5 module: files beside the window's own, fetched as they are needed. */
const PLUGINS = import.meta.glob<string>("../../node_modules/h5wasm-plugins/plugins/*.so", {
  query: "?url",
  import: "default",
});

export const fetchPlugin: FetchPlugin = async (fileName) => {
  const find = Object.entries(PLUGINS).find(([path]) => path.endsWith(`/${fileName}`))?.[1];
  if (find === undefined) return undefined;
  const response = await fetch(await find());
  return response.ok ? new Uint8Array(await response.arrayBuffer()) : undefined;
};
