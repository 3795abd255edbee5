import { PackedDataError } from "../inflate.ts";

const CLEAR = 256;
const END = 257;
const FIRST = 258;
const TABLE = 4096;

/**
 * LZW as TIFF writes it: codes of 9 to 12 bits, most significant bit first, one code wider one entry early.
 * Entries are kept as (start in the output, length), since each is the one before it plus one byte.
 *
 * @param limit most bytes that may come out
 * @throws PackedDataError on a code that can't occur, on data that end without their end code, and beyond the limit
 * @see TIFF 6.0, section 13
 */
export function decodeLzw(packed: Uint8Array, limit: number): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(limit);
  const start = new Uint32Array(TABLE);
  const length = new Uint32Array(TABLE);
  let size = 0;
  let entries = FIRST;
  let width = 9;
  let previousStart = -1;
  let previousLength = 0;
  let bits = 0;
  let held = 0;
  let at = 0;
  for (;;) {
    while (held < width) {
      if (at >= packed.length) {
        // Some writers leave the end code out; all the bytes asked for are there then.
        if (size === limit) return out;
        throw new PackedDataError(`the LZW data end after ${size} of ${limit} bytes`);
      }
      bits = ((bits << 8) | packed[at++]!) & 0xffffff;
      held += 8;
    }
    held -= width;
    const code = (bits >> held) & ((1 << width) - 1);
    if (code === END) return out.subarray(0, size);
    if (code === CLEAR) {
      entries = FIRST;
      width = 9;
      previousStart = -1;
      continue;
    }
    const from = size;
    if (code < CLEAR) {
      if (size + 1 > limit) throw new PackedDataError(`the LZW data hold more than ${limit} bytes`);
      out[size++] = code;
    } else {
      const isNew = code === entries && previousStart >= 0;
      if (previousStart < 0 || (code >= entries && !isNew))
        throw new PackedDataError(`LZW code ${code} has no meaning at byte ${at}`);
      const copyStart = isNew ? previousStart : start[code]!;
      const copyLength = isNew ? previousLength + 1 : length[code]!;
      if (size + copyLength > limit) throw new PackedDataError(`the LZW data hold more than ${limit} bytes`);
      // One byte at a time: a new entry's last byte is the first that this copy writes.
      for (let i = 0; i < copyLength; i++) out[size++] = out[copyStart + i]!;
    }
    if (previousStart >= 0) {
      if (entries >= TABLE) throw new PackedDataError(`the LZW table is full at byte ${at}`);
      start[entries] = previousStart;
      length[entries] = previousLength + 1;
      entries++;
    }
    previousStart = from;
    previousLength = size - from;
    if (entries >= (1 << width) - 1 && width < 12) width++;
  }
}
