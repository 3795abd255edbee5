import { addDecoder, BaseDecoder } from "geotiff";
import { adler32, inflateBounded, PackedDataError } from "../inflate.ts";
import { decodeLzw } from "./lzw.ts";
import type { TiffPage } from "./page.ts";
import { undoPredictor } from "./predictor.ts";

type BlockParameters = ConstructorParameters<typeof BaseDecoder>[0] & { readonly page: TiffPage };

/** Pages by the directory object that the library hands to its decoders: all they get to know about a block. */
const pages = new WeakMap<object, TiffPage>();

/** Tells the decoders what a page must hold; call it before reading the page. */
export function announcePage(directory: object, page: TiffPage): void {
  pages.set(directory, page);
}

/**
 * Undoes one block of a page, and checks that exactly its pixels come out. The library's own decoders let some damage
 * pass as NaN and take the predictor of big-endian files by the machine's byte order.
 */
class CheckedDecoder extends BaseDecoder {
  readonly #page: TiffPage;

  constructor(parameters: BlockParameters) {
    super({ ...parameters, predictor: 1 });
    this.#page = parameters.page;
  }

  override decodeBlock(packed: ArrayBufferLike): ArrayBufferLike {
    const page = this.#page;
    const rowBytes = (page.blockWidth * page.bits) / 8;
    const full = rowBytes * page.blockHeight;
    const lastRows = page.height % page.blockHeight;
    const allowed = page.isTiled || lastRows === 0 ? [full] : [full, rowBytes * lastRows];
    const block = unpack(new Uint8Array(packed as ArrayBuffer), page.compression, full);
    // Uncompressed blocks may be followed by padding.
    const size =
      page.compression === 1 ? allowed.find((n) => n <= block.length) : allowed.find((n) => n === block.length);
    if (size === undefined)
      throw new PackedDataError(`a block unpacks to ${block.length} bytes instead of ${allowed.join(" or ")}`);
    const pixels = block.slice(0, size);
    if (page.predictor !== 1) undoPredictor(pixels, page);
    return pixels.buffer;
  }
}

function unpack(packed: Uint8Array, compression: number, limit: number): Uint8Array {
  switch (compression) {
    case 1:
      return packed;
    case 5:
      return decodeLzw(packed, limit);
    case 8:
    case 32946: {
      const out = inflateBounded(packed, "zlib", limit);
      const wanted = new DataView(packed.buffer, packed.byteOffset + packed.length - 4).getUint32(0);
      if (adler32(out) !== wanted) throw new PackedDataError("the checksum of a block does not match");
      return out;
    }
    case 32773:
      return decodePackBits(packed, limit);
    default:
      throw new RangeError(`no decoder for compression ${compression}`);
  }
}

/** Runs of bytes, a signed length before each (TIFF 6.0, section 9). */
export function decodePackBits(packed: Uint8Array, limit: number): Uint8Array {
  const out = new Uint8Array(limit);
  let size = 0;
  let at = 0;
  while (at < packed.length && size < limit) {
    const head = packed[at++]!;
    if (head === 128) continue;
    const count = head < 128 ? head + 1 : 257 - head;
    const taken = head < 128 ? count : 1;
    if (at + taken > packed.length || size + count > limit)
      throw new PackedDataError(`a PackBits run at byte ${at - 1} doesn't fit`);
    if (head < 128) out.set(packed.subarray(at, at + count), size);
    else out.fill(packed[at]!, size, size + count);
    at += taken;
    size += count;
  }
  return out.subarray(0, size);
}

let registered = false;

/** Puts the decoders into the library's table, once. */
export function registerDecoders(): void {
  if (registered) return;
  registered = true;
  addDecoder(
    [undefined, 1, 5, 8, 32946, 32773],
    async () => CheckedDecoder as typeof BaseDecoder,
    async (directory) => {
      const page = pages.get(directory);
      if (page === undefined) throw new RangeError("a page is decoded that was not announced");
      const parameters: BlockParameters = {
        tileWidth: page.blockWidth,
        tileHeight: page.blockHeight,
        predictor: page.predictor,
        bitsPerSample: [page.bits],
        planarConfiguration: 1,
        page,
      };
      return parameters;
    },
    false,
  );
}
