import { failure, type Result } from "../../model/result.ts";
import type { ByteSource, OpenHdf5 } from "../reader.ts";
import type { Hdf5File } from "./hdf5-file.ts";

/** Larger files are not looked through: reading them would take longer than what they hold is worth. */
const LOOKED_THROUGH = 2 ** 28;
const PIECE = 2 ** 20;
/** GCOL, version 1; the version keeps pixels that spell the name by chance apart. */
const SIGNATURE = [0x47, 0x43, 0x4f, 0x4c, 1];
const HEADER = 16;

/**
 * Opens HDF5 after a look at its global heaps, which hold texts of variable length. The library walks a heap object by
 * object and never ends on a free one of size 0, or on one so large that its address runs over (seen with HDF5 1.10 and
 * 2.0), so such a file must not reach it.
 * @see HDF5 file format specification, section III.E
 */
export async function openHdf5Checked(source: ByteSource, openHdf5: OpenHdf5): Promise<Result<Hdf5File>> {
  const damaged = source.size <= LOOKED_THROUGH ? await damagedHeap(source) : undefined;
  if (damaged !== undefined)
    return failure(
      "unreadable",
      `${source.name} is damaged: the objects of the heap of texts at byte ${damaged} don't fit into it`,
      {
        file: source.name,
      },
    );
  return openHdf5(source);
}

/** Offset of a global heap with an object that does not fit into it, or a free one of size 0. */
async function damagedHeap(source: ByteSource): Promise<number | undefined> {
  for (let start = 0; start < source.size; start += PIECE) {
    const bytes = await source.read(start, Math.min(start + PIECE + SIGNATURE.length - 1, source.size));
    for (let at = bytes.indexOf(SIGNATURE[0]!); at >= 0; at = bytes.indexOf(SIGNATURE[0]!, at + 1))
      if (at < PIECE && SIGNATURE.every((byte, i) => bytes[at + i] === byte) && (await isDamaged(source, start + at)))
        return start + at;
  }
  return undefined;
}

async function isDamaged(source: ByteSource, heap: number): Promise<boolean> {
  const head = await source.read(heap, heap + HEADER);
  if (head.length < HEADER) return false;
  const size = Number(new DataView(head.buffer).getBigUint64(8, true));
  // The library takes memory for what a heap says it holds before it looks: 7 s for one of 2 GiB.
  if (size < SMALLEST_HEAP || size > LARGEST_HEAP) return true;
  const end = heap + size;
  // A heap past the end: the library itself says that the file is cut off.
  if (end > source.size) return false;
  const view = new DataView((await source.read(heap, end)).buffer);
  let at = HEADER;
  while (at + HEADER <= view.byteLength) {
    const isFree = view.getUint16(at, true) === 0;
    const content = Number(view.getBigUint64(at + 8, true));
    // A free object counts its header, another one does not; both are padded to 8 bytes.
    const taken = isFree ? content : HEADER + Math.ceil(content / 8) * 8;
    if (taken === 0 || at + taken > view.byteLength) return true;
    at += taken;
  }
  return false;
}

const SMALLEST_HEAP = 4096;
const LARGEST_HEAP = 2 ** 26;
