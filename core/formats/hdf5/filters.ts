/** Filters of HDF5 by their registered number: a name for people, and the file of the plug-in that undoes it. */
interface KnownFilter {
  readonly name: string;
  /** Absent: part of the library itself. */
  readonly plugin?: string;
}

// Numbers: The HDF Group's registry of filters; 1 to 6 belong to the library.
const FILTERS: ReadonlyMap<number, KnownFilter> = new Map([
  [1, { name: "gzip" }],
  [2, { name: "shuffle" }],
  [3, { name: "Fletcher-32" }],
  [4, { name: "szip" }],
  [5, { name: "n-bit" }],
  [6, { name: "scale-offset" }],
  [307, { name: "bzip2", plugin: "libH5Zbz2.so" }],
  [32000, { name: "LZF", plugin: "libH5Zlzf.so" }],
  [32001, { name: "blosc", plugin: "libH5Zblosc.so" }],
  [32004, { name: "LZ4", plugin: "libH5Zlz4.so" }],
  [32008, { name: "bitshuffle", plugin: "libH5Zbshuf.so" }],
  [32013, { name: "zfp", plugin: "libH5Zzfp.so" }],
  [32015, { name: "zstandard", plugin: "libH5Zzstd.so" }],
  [32026, { name: "blosc2", plugin: "libH5Zblosc2.so" }],
]);

export function filterName(id: number): string {
  return FILTERS.get(id)?.name ?? "not in the table of known filters";
}

export function isBuiltIn(id: number): boolean {
  const filter = FILTERS.get(id);
  return filter !== undefined && filter.plugin === undefined;
}

/** The plug-in's file name; undefined where the filter is built in or unknown. */
export function pluginFile(id: number): string | undefined {
  return FILTERS.get(id)?.plugin;
}
