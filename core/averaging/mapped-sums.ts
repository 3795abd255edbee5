import type { PixelArray } from "../model/frame.ts";
import { type BinSums, checkSizes } from "./bin-sums.ts";
import type { BinMap } from "./membership.ts";

/**
 * Sums over bins that are known beforehand, for frames that follow each other.
 *
 * Neighbouring pixels mostly fall into the same bin, so that each addition waits for the one before it. Four sets of
 * sums, one for each of four neighbours, cut that chain; a set keeps its numbers of one bin side by side in one record.
 */
export class MappedSums {
  private readonly pixels: number;
  private readonly count: number;
  /** First entry of each pixel's record in set 0; pixels that don't count have a spare record. */
  private readonly place: Int32Array;
  private readonly norm: Float64Array;
  private readonly records: Float64Array;
  private readonly fixedPixels: Float64Array;
  private readonly fixedNorm: Float64Array;

  /** @param norm one entry a pixel; `mask` not 0: the pixel enters nothing, whatever the arrays hold there */
  constructor({ index, count }: BinMap, mask: Uint16Array, norm: Float64Array) {
    if (mask.length !== index.length || norm.length !== index.length)
      throw new RangeError(`mask of ${mask.length} and norm of ${norm.length} pixels, bins of ${index.length}`);
    this.pixels = index.length;
    this.count = count;
    this.norm = norm;
    this.place = new Int32Array(index.length);
    this.fixedPixels = new Float64Array(count);
    this.fixedNorm = new Float64Array(count);
    this.records = new Float64Array(SETS * (count + 1) * RECORD);
    for (let p = 0; p < index.length; p++) {
      const bin = mask[p] === 0 && index[p]! >= 0 ? index[p]! : count;
      this.place[p] = bin * RECORD;
      if (bin === count) continue;
      this.fixedPixels[bin]!++;
      this.fixedNorm[bin]! += norm[p]!;
    }
  }

  /** Pixels, counts and norm of every bin, all summed anew. */
  sum(frame: PixelArray, out: BinSums): void {
    checkSizes(frame, this.pixels, out, this.count);
    const { records, count } = this;
    records.fill(0);
    addThree(frame, this.norm, this.place, records);
    const set = (count + 1) * RECORD;
    for (let b = 0, r = 0; b < count; b++, r += RECORD) {
      out.pixels[b] = records[r]! + records[r + set]! + records[r + 2 * set]! + records[r + 3 * set]!;
      const s = r + 1;
      out.counts[b] = records[s]! + records[s + set]! + records[s + 2 * set]! + records[s + 3 * set]!;
      const t = r + 2;
      out.norm[b] = records[t]! + records[t + set]! + records[t + 2 * set]! + records[t + 3 * set]!;
    }
  }

  /** The same result, with the pixels and the norm as they were summed once when the bins were made. */
  sumCounts(frame: PixelArray, out: BinSums): void {
    checkSizes(frame, this.pixels, out, this.count);
    const { records, count } = this;
    records.fill(0);
    addCounts(frame, this.place, records);
    const set = (count + 1) * RECORD;
    for (let b = 0, r = 0; b < count; b++, r += RECORD)
      out.counts[b] = records[r]! + records[r + set]! + records[r + 2 * set]! + records[r + 3 * set]!;
    out.pixels.set(this.fixedPixels);
    out.norm.set(this.fixedNorm);
  }
}

/** Numbers in a bin's record: pixels, counts, norm, and one to keep it at 32 bytes. */
const RECORD = 4;
const SETS = 4;

function addThree(frame: PixelArray, norm: Float64Array, place: Int32Array, records: Float64Array): void {
  const set = records.length / SETS;
  const last = frame.length - 3;
  let i = 0;
  for (; i < last; i += 4) {
    const a = place[i]!;
    records[a]! += 1;
    records[a + 1]! += frame[i]!;
    records[a + 2]! += norm[i]!;
    const b = place[i + 1]! + set;
    records[b]! += 1;
    records[b + 1]! += frame[i + 1]!;
    records[b + 2]! += norm[i + 1]!;
    const c = place[i + 2]! + 2 * set;
    records[c]! += 1;
    records[c + 1]! += frame[i + 2]!;
    records[c + 2]! += norm[i + 2]!;
    const d = place[i + 3]! + 3 * set;
    records[d]! += 1;
    records[d + 1]! += frame[i + 3]!;
    records[d + 2]! += norm[i + 3]!;
  }
  for (; i < frame.length; i++) {
    const a = place[i]!;
    records[a]! += 1;
    records[a + 1]! += frame[i]!;
    records[a + 2]! += norm[i]!;
  }
}

function addCounts(frame: PixelArray, place: Int32Array, records: Float64Array): void {
  const set = records.length / SETS;
  const last = frame.length - 3;
  let i = 0;
  for (; i < last; i += 4) {
    records[place[i]!]! += frame[i]!;
    records[place[i + 1]! + set]! += frame[i + 1]!;
    records[place[i + 2]! + 2 * set]! += frame[i + 2]!;
    records[place[i + 3]! + 3 * set]! += frame[i + 3]!;
  }
  for (; i < frame.length; i++) records[place[i]!]! += frame[i]!;
}
