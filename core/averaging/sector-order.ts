import type { PixelArray } from "../model/frame.ts";
import type { BinSums } from "./bin-sums.ts";
import type { BinMap } from "./membership.ts";
import { foldedAngle, type Sector, sectorInterval } from "./sector.ts";

/** Steps of azimuth for the rough order. */
const STEPS = 65536;
/** Numbers of a running sum: pixels, counts, norm. */
const RECORD = 3;

/**
 * Sector sums of one frame while the sector turns. Pixels are ordered by bin and, inside a bin, by azimuth, once a
 * geometry; running sums along that order, once a frame; a sector is then two searches and a difference in each bin. It
 * finds the same pixels as `sectorMembership`.
 */
export class SectorOrder {
  readonly count: number;
  readonly mirrored: boolean;
  private readonly pixels: number;
  /** Pixels that lie in a bin; those of bin b stand at starts[b] <= i < starts[b + 1]. */
  private readonly order: Int32Array;
  private readonly starts: Int32Array;
  private readonly angles: Float64Array;
  /**
   * Sums over the pixels of the bin before each place. Every bin starts from zero and so has one place more than pixels:
   * place i of bin b is record i + b.
   */
  private readonly running: Float64Array;
  /** The same of the variances, one number a record, once a frame came with some. */
  private runningVariance: Float64Array | undefined;

  /** @param phi rad, 0 <= phi < 2 pi, one entry a pixel @param mirrored for sectors that come with their opposite */
  constructor({ index, count }: BinMap, phi: Float64Array, mirrored: boolean) {
    if (phi.length !== index.length) throw new RangeError(`azimuths of ${phi.length} pixels, bins of ${index.length}`);
    this.count = count;
    this.mirrored = mirrored;
    this.pixels = index.length;
    this.starts = new Int32Array(count + 1);
    for (const bin of index) if (bin >= 0) this.starts[bin + 1]!++;
    for (let b = 0; b < count; b++) this.starts[b + 1]! += this.starts[b]!;
    const folded = mirrored ? phi.map(foldedAngle) : phi;
    this.order = orderByBinAndAngle(index, folded, this.starts);
    this.angles = new Float64Array(this.order.length);
    for (let i = 0; i < this.order.length; i++) this.angles[i] = folded[this.order[i]!]!;
    this.running = new Float64Array((this.order.length + count) * RECORD);
  }

  /**
   * Takes a frame, its mask and norm, one entry a pixel; masked pixels have no weight, whatever the arrays hold there.
   * @param variance of the frame; left out: none is summed
   */
  setFrame(frame: PixelArray, mask: Uint16Array, norm: Float64Array, variance?: Float64Array): void {
    if (frame.length !== this.pixels || mask.length !== this.pixels || norm.length !== this.pixels)
      throw new RangeError(
        `frame of ${frame.length}, mask of ${mask.length}, norm of ${norm.length} pixels; bins of ${this.pixels}`,
      );
    const { order, running, starts } = this;
    for (let b = 0; b < this.count; b++) {
      let [pixels, counts, weight] = [0, 0, 0];
      for (let i = starts[b]!, r = (i + b) * RECORD; i < starts[b + 1]!; i++) {
        const p = order[i]!;
        if (mask[p] === 0) {
          pixels++;
          counts += frame[p]!;
          weight += norm[p]!;
        }
        r += RECORD;
        running[r] = pixels;
        running[r + 1] = counts;
        running[r + 2] = weight;
      }
    }
    this.setVariance(mask, variance);
  }

  private setVariance(mask: Uint16Array, variance: Float64Array | undefined): void {
    if (variance !== undefined && variance.length !== this.pixels)
      throw new RangeError(`variance of ${variance.length} pixels; bins of ${this.pixels}`);
    this.runningVariance = variance && new Float64Array(this.order.length + this.count);
    if (variance === undefined || this.runningVariance === undefined) return;
    const { order, starts, runningVariance } = this;
    for (let b = 0; b < this.count; b++) {
      let sum = 0;
      for (let i = starts[b]!; i < starts[b + 1]!; i++) {
        const p = order[i]!;
        if (mask[p] === 0) sum += variance[p]!;
        runningVariance[i + b + 1] = sum;
      }
    }
  }

  /** @throws RangeError on a sector that is mirrored where the order isn't, or the other way round */
  sum(sector: Sector, out: BinSums): void {
    if (sector.mirrored !== this.mirrored) throw new RangeError("the order was made for the other kind of sector");
    if (out.count !== this.count) throw new RangeError(`room for ${out.count} bins, ${this.count} needed`);
    const { low, high } = sectorInterval(sector);
    const { running, starts, runningVariance } = this;
    for (let b = 0; b < this.count; b++) {
      const start = starts[b]!;
      const end = starts[b + 1]!;
      const first = this.firstFrom(low, start, end) + b;
      const beyond = this.firstBeyond(high, start, end) + b;
      const [from, to] = [first * RECORD, beyond * RECORD];
      // Through the end of the period: all of the bin less what lies between.
      const whole = low <= high ? -1 : (end + b) * RECORD;
      if (out.variance !== undefined && runningVariance !== undefined)
        out.variance[b] =
          runningVariance[beyond]! - runningVariance[first]! + (whole < 0 ? 0 : runningVariance[end + b]!);
      out.pixels[b] = running[to]! - running[from]! + (whole < 0 ? 0 : running[whole]!);
      out.counts[b] = running[to + 1]! - running[from + 1]! + (whole < 0 ? 0 : running[whole + 1]!);
      out.norm[b] = running[to + 2]! - running[from + 2]! + (whole < 0 ? 0 : running[whole + 2]!);
    }
  }

  private firstFrom(angle: number, start: number, end: number): number {
    let [low, high] = [start, end];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.angles[middle]! < angle) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  private firstBeyond(angle: number, start: number, end: number): number {
    let [low, high] = [start, end];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.angles[middle]! <= angle) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}

/** Linear in the pixels: by rough angle, then by bin without disturbing that, then neighbours are set right. */
function orderByBinAndAngle(index: Int32Array, angles: Float64Array, starts: Int32Array): Int32Array {
  const total = starts[starts.length - 1]!;
  const step = (p: number): number => ((angles[p]! / (2 * Math.PI)) * STEPS) | 0;
  const next = new Int32Array(STEPS + 1);
  for (let p = 0; p < index.length; p++) if (index[p]! >= 0) next[step(p) + 1]!++;
  for (let s = 0; s < STEPS; s++) next[s + 1]! += next[s]!;
  const byAngle = new Int32Array(total);
  for (let p = 0; p < index.length; p++) if (index[p]! >= 0) byAngle[next[step(p)]!++] = p;

  const order = new Int32Array(total);
  const place = starts.slice();
  for (const p of byAngle) order[place[index[p]!]!++] = p;
  for (let b = 0; b + 1 < starts.length; b++)
    for (let i = starts[b]! + 1; i < starts[b + 1]!; i++) {
      const p = order[i]!;
      let j = i;
      for (; j > starts[b]! && angles[order[j - 1]!]! > angles[p]!; j--) order[j] = order[j - 1]!;
      order[j] = p;
    }
  return order;
}
