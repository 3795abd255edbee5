import type { ByteSource } from "../reader.ts";
import type { Hdf5Dataset } from "./hdf5-file.ts";

// The HDF5 library reads pixels that were never written as their fill value and has no call that tells (h5wasm leaves out
// H5Dget_storage_size), so the few bytes that do tell are read here.
// HDF5 File Format Specification, version 3.0: II (superblock), IV.A.1 (object header), IV.A.2.i (data layout).

const SIGNATURE = [0x89, 0x48, 0x44, 0x46, 0x0d, 0x0a, 0x1a, 0x0a];
const LARGEST_USER_BLOCK = 2 ** 26;
/** Parts of one object header that are followed, and bytes of one that are read. */
const HEADER_PARTS = 16;
const HEADER_BYTES = 2 ** 16;

const LAYOUT = 0x0008;
const EXTERNAL_FILES = 0x0007;
const CONTINUATION = 0x0010;
const CONTIGUOUS = 1;
const CHUNKED = 2;
/** Bytes that describe a chunk index of layout version 4, by its type; type 1 (a single chunk) has them only with filters. */
const INDEX_BYTES: Readonly<Record<number, number>> = { 1: 0, 2: 0, 3: 1, 4: 5, 5: 6 };
const FILTERED_SINGLE_CHUNK = 2;

/**
 * True where the file has no place yet for a dataset's values: it was created, and nothing of it written. False where it
 * has, and where this can't be told (values in other files, a layout that came later, damage).
 */
export async function isUnwritten(source: ByteSource, dataset: Hdf5Dataset): Promise<boolean> {
  const address = dataset.address.split(".").map(Number);
  // An object of another file carries that file's number in its address.
  if (address.length !== 8 || !address.every((byte) => byte >= 0 && byte < 256)) return false;
  const at = Number(new DataView(Uint8Array.from(address).buffer).getBigUint64(0, true));
  const start = await superblock(source);
  return start !== undefined && (await hasNoPlace(source, start, start + at));
}

/** Where the superblock lies: addresses count from there. Undefined where addresses have not 8 bytes. */
async function superblock(source: ByteSource): Promise<number | undefined> {
  for (let at = 0; at <= LARGEST_USER_BLOCK && at < source.size; at = at === 0 ? 512 : at * 2) {
    const bytes = await source.read(at, Math.min(at + 16, source.size));
    if (!SIGNATURE.every((byte, i) => bytes[i] === byte)) continue;
    const offsetBytes = bytes[8]! < 2 ? bytes[13] : bytes[9];
    return offsetBytes === 8 ? at : undefined;
  }
  return undefined;
}

interface Message {
  readonly type: number;
  readonly data: DataView;
}

async function hasNoPlace(source: ByteSource, start: number, header: number): Promise<boolean> {
  const messages = await readMessages(source, start, header);
  const layout = messages.find(({ type }) => type === LAYOUT);
  if (layout === undefined || messages.some(({ type }) => type === EXTERNAL_FILES)) return false;
  try {
    return addressOfValues(layout.data) === UNDEFINED;
  } catch (error) {
    // A message that is shorter than it should be: the library will say what is wrong.
    if (error instanceof RangeError) return false;
    throw error;
  }
}

const UNDEFINED = 0xffff_ffff_ffff_ffffn;

/** The address of contiguous values or of the index of chunks; undefined for any other layout. */
function addressOfValues(data: DataView): bigint | undefined {
  const version = data.getUint8(0);
  if (version === 1 || version === 2) {
    const kind = data.getUint8(2);
    return kind === CONTIGUOUS || kind === CHUNKED ? data.getBigUint64(8, true) : undefined;
  }
  const kind = data.getUint8(1);
  if (version === 3 || (version === 4 && kind === CONTIGUOUS)) {
    if (kind === CONTIGUOUS) return data.getBigUint64(2, true);
    return kind === CHUNKED ? data.getBigUint64(3, true) : undefined;
  }
  if (version !== 4 || kind !== CHUNKED) return undefined;
  const isFilteredSingle = (data.getUint8(2) & FILTERED_SINGLE_CHUNK) !== 0;
  const dimensions = data.getUint8(3);
  const type = 5 + dimensions * data.getUint8(4);
  const index = data.getUint8(type);
  const described = index === 1 && isFilteredSingle ? 12 : INDEX_BYTES[index];
  return described === undefined ? undefined : data.getBigUint64(type + 1 + described, true);
}

/** The messages of an object header of either version, those of its continuations too. */
async function readMessages(source: ByteSource, start: number, header: number): Promise<readonly Message[]> {
  const head = await readWithin(source, header, 64);
  if (head.length < 32) return [];
  const isNew = String.fromCharCode(...head.subarray(0, 4)) === "OHDR";
  const view = new DataView(head.buffer);
  const flags = isNew ? head[5]! : 0;
  let first = 16;
  let length = view.getUint32(8, true);
  if (isNew) {
    const sizeAt = 6 + ((flags & 0x20) !== 0 ? 16 : 0) + ((flags & 0x10) !== 0 ? 4 : 0);
    const sizeBytes = 1 << (flags & 3);
    first = sizeAt + sizeBytes;
    length = 0;
    for (let i = Math.min(sizeBytes, 4) - 1; i >= 0; i--) length = length * 256 + head[sizeAt + i]!;
  }
  const messages: Message[] = [];
  const parts = [{ at: header + first, length }];
  for (let part = 0; part < parts.length && part < HEADER_PARTS; part++) {
    const { at, length: size } = parts[part]!;
    const bytes = await readWithin(source, at, Math.min(size, HEADER_BYTES));
    for (const message of messagesOf(new DataView(bytes.buffer), isNew, flags)) {
      messages.push(message);
      if (message.type !== CONTINUATION || message.data.byteLength < 16) continue;
      const next = start + Number(message.data.getBigUint64(0, true));
      const nextLength = Number(message.data.getBigUint64(8, true));
      // A later part of a new header has its own signature before and its checksum after the messages.
      parts.push(isNew ? { at: next + 4, length: nextLength - 8 } : { at: next, length: nextLength });
    }
  }
  return messages;
}

/** As many of `length` bytes as the file has there: a damaged header may point anywhere. */
async function readWithin(source: ByteSource, start: number, length: number): Promise<Uint8Array<ArrayBuffer>> {
  const end = Math.min(start + length, source.size);
  return end > start ? source.read(start, end) : new Uint8Array(0);
}

function* messagesOf(view: DataView, isNew: boolean, flags: number): Generator<Message> {
  const prefix = isNew ? ((flags & 4) !== 0 ? 6 : 4) : 8;
  for (let at = 0; at + prefix <= view.byteLength; ) {
    const type = isNew ? view.getUint8(at) : view.getUint16(at, true);
    const size = view.getUint16(at + (isNew ? 1 : 2), true);
    at += prefix;
    if (at + size > view.byteLength) return;
    yield { type, data: new DataView(view.buffer, view.byteOffset + at, size) };
    at += size;
  }
}
