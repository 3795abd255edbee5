import { failure, type Result, success } from "../../model/result.ts";
import { LIMITS } from "../limits.ts";
import type { ByteSource } from "../reader.ts";

/** Tags of one page that this program uses, as numbers (TIFF 6.0, part 1). */
export interface Directory {
  readonly offset: number;
  readonly tags: ReadonlyMap<number, readonly number[]>;
  readonly description: string | undefined;
  readonly dateTime: string | undefined;
}

export interface TiffStructure {
  readonly littleEndian: boolean;
  readonly isBig: boolean;
  readonly directories: readonly Directory[];
}

export const TAG = {
  subfileType: 254,
  width: 256,
  height: 257,
  bits: 258,
  compression: 259,
  photometric: 262,
  description: 270,
  stripOffsets: 273,
  orientation: 274,
  samples: 277,
  rowsPerStrip: 278,
  stripBytes: 279,
  xResolution: 282,
  yResolution: 283,
  planar: 284,
  resolutionUnit: 296,
  dateTime: 306,
  predictor: 317,
  tileWidth: 322,
  tileHeight: 323,
  tileOffsets: 324,
  tileBytes: 325,
  sampleFormat: 339,
} as const;

const WANTED: ReadonlySet<number> = new Set(Object.values(TAG));
/** Bytes of one value, by field type; types 5 and 10 are pairs. */
const TYPE_BYTES: Readonly<Record<number, number>> = {
  1: 1,
  2: 1,
  3: 2,
  4: 4,
  5: 8,
  6: 1,
  7: 1,
  8: 2,
  9: 4,
  10: 8,
  11: 4,
  12: 8,
  13: 4,
  16: 8,
  17: 8,
  18: 8,
};
const ASCII = 2;
const RATIONAL = 5;
const LONGEST_TEXT = 2 ** 20;
const MOST_ENTRIES = 4096;

/**
 * Walks the chain of pages and checks every offset and count against the file before anything is allocated for it, so
 * that a lie in a header ends here. @see TIFF 6.0, section 2; BigTIFF: 64-bit offsets, 20-byte entries
 */
export async function readStructure(source: ByteSource): Promise<Result<TiffStructure>> {
  const file = source.name;
  const head = await source.read(0, Math.min(16, source.size));
  if (head.length < 8)
    return failure("incomplete", `${file} ends at byte ${head.length}; a TIFF header needs 8`, { file });
  const littleEndian = head[0] === 0x49;
  const view = new DataView(head.buffer);
  const isBig = view.getUint16(2, littleEndian) === 43;
  if (isBig && head.length < 16)
    return failure("incomplete", `${file} ends at byte ${head.length}; a BigTIFF header needs 16`, { file });
  if (isBig && (view.getUint16(4, littleEndian) !== 8 || view.getUint16(6, littleEndian) !== 0))
    return failure(
      "unsupported",
      `${file}: BigTIFF with offsets of ${view.getUint16(4, littleEndian)} bytes is not read`,
      { file },
    );
  let offset = isBig ? Number(view.getBigUint64(8, littleEndian)) : view.getUint32(4, littleEndian);
  const directories: Directory[] = [];
  const visited = new Set<number>();
  while (offset !== 0) {
    if (visited.has(offset))
      return failure("inconsistent", `${file}: the page chain loops at offset ${offset}`, { file });
    visited.add(offset);
    if (directories.length >= LIMITS.tiffPages)
      return failure("out-of-range", `${file} has more than ${LIMITS.tiffPages} pages`, { file });
    const page = await readDirectory(source, offset, littleEndian, isBig);
    if (!page.ok) return page;
    directories.push(page.value.directory);
    offset = page.value.next;
  }
  if (directories.length === 0) return failure("missing", `${file} has no page`, { file });
  return success({ littleEndian, isBig, directories });
}

async function readDirectory(
  source: ByteSource,
  offset: number,
  littleEndian: boolean,
  isBig: boolean,
): Promise<Result<{ directory: Directory; next: number }>> {
  const file = source.name;
  const countBytes = isBig ? 8 : 2;
  const entryBytes = isBig ? 20 : 12;
  const linkBytes = isBig ? 8 : 4;
  const past = (what: string, end: number) =>
    failure(
      "incomplete",
      `${file}: ${what} at offset ${offset} needs bytes up to ${end}; the file ends at ${source.size}`,
      { file },
    );
  if (!(offset + countBytes <= source.size)) return past("the page", offset + countBytes);
  const countView = new DataView((await source.read(offset, offset + countBytes)).buffer);
  const entries = isBig ? Number(countView.getBigUint64(0, littleEndian)) : countView.getUint16(0, littleEndian);
  if (entries > MOST_ENTRIES)
    return failure("out-of-range", `${file}: the page at offset ${offset} declares ${entries} tags`, { file });
  const end = offset + countBytes + entries * entryBytes + linkBytes;
  if (!(end <= source.size)) return past("the page", end);
  const view = new DataView((await source.read(offset + countBytes, end)).buffer);
  const tags = new Map<number, readonly number[]>();
  const texts = new Map<number, string>();
  for (let entry = 0; entry < entries; entry++) {
    const at = entry * entryBytes;
    const tag = view.getUint16(at, littleEndian);
    if (!WANTED.has(tag)) continue;
    const type = view.getUint16(at + 2, littleEndian);
    const count = isBig ? Number(view.getBigUint64(at + 4, littleEndian)) : view.getUint32(at + 4, littleEndian);
    const size = (TYPE_BYTES[type] ?? 0) * count;
    if (size === 0) continue;
    const inline = isBig ? 8 : 4;
    const valueAt = at + (isBig ? 12 : 8);
    let values = new DataView(view.buffer, valueAt, inline);
    if (size > inline) {
      const place = isBig ? Number(view.getBigUint64(valueAt, littleEndian)) : view.getUint32(valueAt, littleEndian);
      if (!(place + size <= source.size)) return past(`tag ${tag} (${size} bytes at ${place})`, place + size);
      values = new DataView((await source.read(place, place + size)).buffer);
    }
    if (type === ASCII) texts.set(tag, textOf(values, Math.min(count, LONGEST_TEXT)));
    else tags.set(tag, numbersOf(values, type, count, littleEndian));
  }
  const linkAt = entries * entryBytes;
  const next = isBig ? Number(view.getBigUint64(linkAt, littleEndian)) : view.getUint32(linkAt, littleEndian);
  const directory = { offset, tags, description: texts.get(TAG.description), dateTime: texts.get(TAG.dateTime) };
  return success({ directory, next });
}

function textOf(view: DataView, count: number): string {
  const bytes = new Uint8Array(view.buffer, view.byteOffset, count);
  const end = bytes.indexOf(0);
  return new TextDecoder("latin1").decode(end < 0 ? bytes : bytes.subarray(0, end)).trim();
}

function numbersOf(view: DataView, type: number, count: number, littleEndian: boolean): number[] {
  const out: number[] = [];
  const size = TYPE_BYTES[type]!;
  for (let i = 0; i < count; i++) {
    const at = i * size;
    if (type === 3) out.push(view.getUint16(at, littleEndian));
    else if (type === 4 || type === 13) out.push(view.getUint32(at, littleEndian));
    else if (type === 1 || type === 7) out.push(view.getUint8(at));
    else if (type === RATIONAL) out.push(view.getUint32(at, littleEndian) / view.getUint32(at + 4, littleEndian));
    else if (type >= 16) out.push(Number(view.getBigUint64(at, littleEndian)));
  }
  return out;
}
