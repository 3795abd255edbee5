import { failure, type Result, success } from "../../model/result.ts";
import { inflateBounded, PackedDataError } from "../inflate.ts";
import { expansionLimit, LIMITS } from "../limits.ts";
import type { ByteSource } from "../reader.ts";
import { crc32 } from "./crc32.ts";

/** One file in an archive. */
export interface ZipEntry {
  readonly name: string;
  readonly method: number;
  readonly isEncrypted: boolean;
  readonly crc: number;
  readonly packedSize: number;
  readonly size: number;
  readonly headerOffset: number;
}

const END = 0x06054b50;
const END64 = 0x06064b50;
const LOCATOR64 = 0x07064b50;
const CENTRAL = 0x02014b50;
const LOCAL = 0x04034b50;
const LONGEST_COMMENT = 65_535;
const UTF8_NAME = 0x800;
const ENCRYPTED = 0x1;
const LARGEST_DIRECTORY = 2 ** 26;

/**
 * The central directory of a zip archive, ZIP64 included (PKWARE's application note, sections 4.3 and 4.5).
 * Folders, and what systems add for themselves, are left out; a name that leaves the archive is left out with a note.
 */
export async function readZipDirectory(source: ByteSource): Promise<Result<{ entries: ZipEntry[]; notes: string[] }>> {
  const file = source.name;
  const tailStart = Math.max(0, source.size - LONGEST_COMMENT - 22);
  const tail = await source.read(tailStart, source.size);
  const view = new DataView(tail.buffer);
  let end = tail.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== END) end--;
  if (end < 0)
    return failure(
      "incomplete",
      `${file} ends at byte ${source.size} without the directory of a zip archive: it is cut off`,
      { file },
    );
  let count = view.getUint16(end + 10, true);
  let size = view.getUint32(end + 12, true);
  let start = view.getUint32(end + 16, true);
  if (end >= 20 && view.getUint32(end - 20, true) === LOCATOR64) {
    const at = Number(view.getBigUint64(end - 20 + 8, true));
    if (!(at + 56 <= source.size))
      return failure("unreadable", `${file}: the ZIP64 directory is said to be at byte ${at}, past the end`, { file });
    const wide = new DataView((await source.read(at, at + 56)).buffer);
    if (wide.getUint32(0, true) !== END64)
      return failure("unreadable", `${file}: there is no ZIP64 directory at byte ${at}`, { file });
    count = Number(wide.getBigUint64(32, true));
    size = Number(wide.getBigUint64(40, true));
    start = Number(wide.getBigUint64(48, true));
  }
  if (count > LIMITS.archiveEntries)
    return failure("out-of-range", `${file} declares ${count} files; the limit is ${LIMITS.archiveEntries}`, { file });
  if (!(start + size <= source.size && size <= LARGEST_DIRECTORY))
    return failure(
      "unreadable",
      `${file}: the directory is said to take bytes ${start} to ${start + size}; the file ends at ${source.size}`,
      { file },
    );
  return parseDirectory(await source.read(start, start + size), count, file);
}

function parseDirectory(
  bytes: Uint8Array<ArrayBuffer>,
  count: number,
  file: string,
): Result<{ entries: ZipEntry[]; notes: string[] }> {
  const view = new DataView(bytes.buffer);
  const entries: ZipEntry[] = [];
  const notes: string[] = [];
  const seen = new Set<string>();
  let at = 0;
  for (let i = 0; i < count; i++) {
    if (at + 46 > bytes.length || view.getUint32(at, true) !== CENTRAL)
      return failure("unreadable", `${file}: entry ${i} of ${count} of the directory is damaged`, { file });
    const flags = view.getUint16(at + 8, true);
    const [nameLength, extraLength, commentLength] = [28, 30, 32].map((o) => view.getUint16(at + o, true)) as [
      number,
      number,
      number,
    ];
    const next = at + 46 + nameLength + extraLength + commentLength;
    if (next > bytes.length)
      return failure("unreadable", `${file}: entry ${i} of ${count} of the directory is cut off`, { file });
    const nameBytes = bytes.subarray(at + 46, at + 46 + nameLength);
    const name = new TextDecoder((flags & UTF8_NAME) !== 0 ? "utf-8" : "latin1").decode(nameBytes);
    const wide = wideSizes(view, at, at + 46 + nameLength, extraLength);
    const entry: ZipEntry = {
      name,
      method: view.getUint16(at + 10, true),
      isEncrypted: (flags & ENCRYPTED) !== 0,
      crc: view.getUint32(at + 16, true),
      ...wide,
    };
    at = next;
    if (seen.has(name)) return failure("inconsistent", `${file}: "${name}" occurs twice`, { file });
    seen.add(name);
    if (isUnsafe(name)) notes.push(`"${name}" is refused: its name leads out of the archive`);
    else if (!isOverhead(name)) entries.push(entry);
  }
  return success({ entries, notes });
}

/** Sizes and offset, from the ZIP64 extra field where the plain ones are all ones. */
function wideSizes(
  view: DataView,
  at: number,
  extraStart: number,
  extraLength: number,
): Pick<ZipEntry, "packedSize" | "size" | "headerOffset"> {
  const plain = {
    packedSize: view.getUint32(at + 20, true),
    size: view.getUint32(at + 24, true),
    headerOffset: view.getUint32(at + 42, true),
  };
  const all = 0xffffffff;
  for (let field = extraStart; field + 4 <= extraStart + extraLength; ) {
    const length = view.getUint16(field + 2, true);
    let value = field + 4;
    const end = Math.min(value + length, extraStart + extraLength);
    if (view.getUint16(field, true) === 1) {
      const take = (narrow: number): number => {
        if (narrow !== all || value + 8 > end) return narrow;
        value += 8;
        return Number(view.getBigUint64(value - 8, true));
      };
      const size = take(plain.size);
      const packedSize = take(plain.packedSize);
      return { size, packedSize, headerOffset: take(plain.headerOffset) };
    }
    field += 4 + length;
  }
  return plain;
}

function isUnsafe(name: string): boolean {
  return name.includes("\0") || /^[/\\]|^[a-z]:/i.test(name) || name.split(/[/\\]/).includes("..");
}

function isOverhead(name: string): boolean {
  const parts = name.split("/");
  return name.endsWith("/") || parts[0] === "__MACOSX" || parts.at(-1)!.startsWith(".");
}

/** Unpacks one entry into memory, its size and its checksum checked. */
export async function readZipEntry(source: ByteSource, entry: ZipEntry): Promise<Result<Uint8Array<ArrayBuffer>>> {
  const place = { file: source.name, field: entry.name };
  const what = `"${entry.name}" in ${source.name}`;
  if (entry.isEncrypted) return failure("unsupported", `${what} is encrypted`, place);
  if (entry.method !== 0 && entry.method !== 8)
    return failure(
      "unsupported",
      `${what} is packed by method ${entry.method}; stored and deflated entries are read`,
      place,
    );
  const limit = expansionLimit(entry.packedSize);
  if (!(entry.size <= limit))
    return failure(
      "out-of-range",
      `${what} expands to ${entry.size} bytes from ${entry.packedSize}; the limit is ${limit}`,
      place,
    );
  const header = entry.headerOffset;
  if (!(header + 30 <= source.size))
    return failure("unreadable", `${what} is said to start at byte ${header}, past the end`, place);
  const view = new DataView((await source.read(header, header + 30)).buffer);
  if (view.getUint32(0, true) !== LOCAL)
    return failure("unreadable", `${what}: there is no entry at byte ${header}`, place);
  const start = header + 30 + view.getUint16(26, true) + view.getUint16(28, true);
  if (!(start + entry.packedSize <= source.size))
    return failure(
      "unreadable",
      `${what} needs bytes up to ${start + entry.packedSize}; the file ends at ${source.size}`,
      place,
    );
  const packed = await source.read(start, start + entry.packedSize);
  try {
    const bytes = entry.method === 0 ? packed : inflateBounded(packed, "raw", entry.size);
    if (bytes.length !== entry.size)
      return failure("unreadable", `${what} unpacks to ${bytes.length} bytes instead of ${entry.size}`, place);
    if (crc32(bytes) !== entry.crc) return failure("unreadable", `the checksum of ${what} does not match`, place);
    return success(bytes);
  } catch (error) {
    if (!(error instanceof PackedDataError)) throw error;
    return failure("unreadable", `${what}: ${error.message}`, place);
  }
}
