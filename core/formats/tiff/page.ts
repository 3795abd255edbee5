import { failure, type Result, success } from "../../model/result.ts";
import { checkFrameSize } from "../limits.ts";
import type { ByteSource } from "../reader.ts";
import { type Directory, TAG } from "./directory.ts";

/** One page that holds counts, its blocks checked against the file. */
export interface TiffPage {
  /** Index in the chain of pages. */
  readonly index: number;
  readonly width: number;
  readonly height: number;
  readonly bits: 8 | 16 | 32 | 64;
  readonly format: "unsigned" | "signed" | "float";
  readonly compression: number;
  readonly predictor: 1 | 2 | 3;
  readonly isTiled: boolean;
  readonly blockWidth: number;
  readonly blockHeight: number;
  readonly orientation: number;
  readonly isReduced: boolean;
  readonly littleEndian: boolean;
  readonly directory: Directory;
  readonly warnings: readonly string[];
}

const COMPRESSIONS: Readonly<Record<number, string>> = {
  1: "none",
  5: "LZW",
  8: "Deflate",
  32946: "Deflate",
  32773: "PackBits",
};
const REFUSED_COMPRESSIONS: Readonly<Record<number, string>> = {
  2: "CCITT",
  3: "CCITT",
  4: "CCITT",
  6: "JPEG, which loses counts",
  7: "JPEG, which loses counts",
  34712: "JPEG 2000",
  34887: "LERC",
  50000: "zstandard",
  50001: "WebP",
};
const RGB = 2;
const PALETTE = 3;

/** Understands one page, or says why it holds no counts that can be read. */
export function pageOf(
  source: ByteSource,
  directory: Directory,
  index: number,
  littleEndian: boolean,
): Result<TiffPage> {
  const file = source.name;
  const fault = (message: string) =>
    failure("unsupported", `${file}, page ${index}: ${message}`, { file, field: `page ${index}` });
  const one = (tag: number, otherwise: number): number => directory.tags.get(tag)?.[0] ?? otherwise;
  const width = one(TAG.width, 0);
  const height = one(TAG.height, 0);
  const size = checkFrameSize(`page ${index} of ${file}`, width, height);
  if (!size.ok) return failure(size.fault.code, size.fault.message, { file, field: `page ${index}` });
  const photometric = one(TAG.photometric, 1);
  const samples = one(TAG.samples, 1);
  if (photometric === RGB || photometric === PALETTE || samples !== 1)
    return fault(`this is a picture (${samples} values a pixel, photometric ${photometric}), not counts`);
  const bits = one(TAG.bits, 1);
  if (bits !== 8 && bits !== 16 && bits !== 32 && bits !== 64) return fault(`${bits} bits a pixel are not read`);
  const format = ({ 1: "unsigned", 2: "signed", 3: "float", 4: "unsigned" } as const)[one(TAG.sampleFormat, 1)];
  if (format === undefined) return fault(`sample format ${one(TAG.sampleFormat, 1)} is not read`);
  if (format === "float" ? bits < 32 : bits > 32) return fault(`${format} values of ${bits} bits are not read`);
  const compression = one(TAG.compression, 1);
  if (COMPRESSIONS[compression] === undefined)
    return fault(`compression ${compression} (${REFUSED_COMPRESSIONS[compression] ?? "unknown"}) is not read`);
  const predictor = one(TAG.predictor, 1);
  if (predictor !== 1 && predictor !== 2 && predictor !== 3) return fault(`predictor ${predictor} is not read`);
  if (predictor === 3 && format !== "float") return fault("predictor 3 goes with float values only");
  if (predictor === 2 && bits === 64) return fault("predictor 2 on 64-bit values is not read");
  const isTiled = directory.tags.has(TAG.tileOffsets);
  const blockWidth = isTiled ? one(TAG.tileWidth, 0) : width;
  // A missing RowsPerStrip means one strip; 2^32 - 1 is its written form.
  const blockHeight = isTiled ? one(TAG.tileHeight, 0) : Math.min(one(TAG.rowsPerStrip, height), height);
  const block = checkFrameSize(`a block of page ${index} of ${file}`, blockWidth, blockHeight);
  if (!block.ok) return failure(block.fault.code, block.fault.message, { file, field: `page ${index}` });
  const page: TiffPage = {
    index,
    width,
    height,
    bits,
    format,
    compression,
    predictor,
    isTiled,
    blockWidth,
    blockHeight,
    orientation: one(TAG.orientation, 1),
    isReduced: (one(TAG.subfileType, 0) & 1) === 1,
    littleEndian,
    directory,
    warnings:
      photometric === 0
        ? ["the page is marked as white for 0: that concerns display, and the counts are not inverted"]
        : [],
  };
  return checkBlocks(source, page);
}

function checkBlocks(source: ByteSource, page: TiffPage): Result<TiffPage> {
  const { tags } = page.directory;
  const file = source.name;
  const fault = (message: string) =>
    failure("unreadable", `${file}, page ${page.index}: ${message}`, { file, field: `page ${page.index}` });
  const offsets = tags.get(page.isTiled ? TAG.tileOffsets : TAG.stripOffsets) ?? [];
  const sizes = tags.get(page.isTiled ? TAG.tileBytes : TAG.stripBytes) ?? [];
  const across = Math.ceil(page.width / page.blockWidth);
  const down = Math.ceil(page.height / page.blockHeight);
  if (offsets.length !== across * down || sizes.length !== across * down)
    return fault(
      `${across * down} ${page.isTiled ? "tiles" : "strips"} expected, ${Math.min(offsets.length, sizes.length)} listed`,
    );
  let present = 0;
  for (let b = 0; b < offsets.length; b++) {
    const end = offsets[b]! + sizes[b]!;
    if (!(end <= source.size))
      return failure(
        "incomplete",
        `${file}, page ${page.index}: block ${b} lies at bytes ${offsets[b]} to ${end}; the file ends at ${source.size}`,
        { file },
      );
    const rows = page.isTiled ? page.blockHeight : Math.min(page.blockHeight, page.height - b * page.blockHeight);
    const wanted = (rows * page.blockWidth * page.bits) / 8;
    if (sizes[b] === 0 || (page.compression === 1 && sizes[b]! < wanted))
      return fault(`block ${b} declares ${wanted} bytes of pixels but holds ${sizes[b]}`);
    present += wanted;
  }
  // Blocks of a tiled page may be padded, but not so much that a small page asks for a large memory.
  const least = (page.width * page.height * page.bits) / 8;
  if (present > PADDING_LIMIT * least + PADDING_FREE)
    return fault(
      `its blocks of ${page.blockWidth} x ${page.blockHeight} don't fit a page of ${page.width} x ${page.height}`,
    );
  return success(page);
}

const PADDING_LIMIT = 4;
const PADDING_FREE = 2 ** 24;
