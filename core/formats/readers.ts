import { cbfReader } from "./cbf/cbf-reader.ts";
import { gzipReader } from "./containers/gzip-reader.ts";
import { zipReader } from "./containers/zip-reader.ts";
import { nexusReader } from "./nexus/nexus-reader.ts";
import { npyReader } from "./npy/npy-reader.ts";
import type { FormatReader } from "./reader.ts";
import { textReader } from "./text/text-reader.ts";
import { tiffReader } from "./tiff/tiff-reader.ts";

/** Every reader of frames, in the order in which they are asked. */
export const READERS: readonly FormatReader[] = [
  nexusReader,
  tiffReader,
  npyReader,
  cbfReader,
  gzipReader,
  zipReader,
  textReader,
];
