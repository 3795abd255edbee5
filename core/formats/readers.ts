import { nexusReader } from "./nexus/nexus-reader.ts";
import { npyReader } from "./npy/npy-reader.ts";
import type { FormatReader } from "./reader.ts";
import { tiffReader } from "./tiff/tiff-reader.ts";

/** Every reader of frames, in the order in which they are asked. */
export const READERS: readonly FormatReader[] = [nexusReader, tiffReader, npyReader];
