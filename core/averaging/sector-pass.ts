import type { PixelArray } from "../model/frame.ts";
import { type BinSums, checkSizes } from "./bin-sums.ts";
import type { BinMap } from "./membership.ts";
import { foldedAngle, type Sector, sectorInterval } from "./sector.ts";

/** Numbers in a bin's record, of 32 bytes: pixels, counts, norm, variance. */
const RECORD = 4;

/**
 * Sector sums in one pass over the pixels: nothing to prepare but the angles, so this answers until a `SectorOrder` is
 * ready. It finds the same pixels as `sectorMembership`.
 */
export class SectorPass {
  readonly count: number;
  readonly mirrored: boolean;
  /** First entry of each pixel's record; pixels that don't count have a spare one. */
  readonly place: Int32Array;
  readonly angles: Float64Array;
  private readonly norm: Float64Array;
  readonly records: Float64Array;

  /** @param phi rad, 0 <= phi < 2 pi; one entry a pixel, like `mask` and `norm` */
  constructor(
    { index, count }: BinMap,
    mirrored: boolean,
    { phi, mask, norm }: { readonly phi: Float64Array; readonly mask: Uint16Array; readonly norm: Float64Array },
  ) {
    if (phi.length !== index.length || mask.length !== index.length || norm.length !== index.length)
      throw new RangeError(
        `azimuths of ${phi.length}, mask of ${mask.length}, norm of ${norm.length} pixels; bins of ${index.length}`,
      );
    this.count = count;
    this.mirrored = mirrored;
    this.norm = norm;
    this.angles = mirrored ? phi.map(foldedAngle) : phi;
    this.place = new Int32Array(index.length);
    for (let p = 0; p < index.length; p++)
      this.place[p] = (mask[p] === 0 && index[p]! >= 0 ? index[p]! : count) * RECORD;
    this.records = new Float64Array((count + 1) * RECORD);
  }

  /**
   * @param variance of the frame, one entry a pixel: summed where `out` has room for it
   * @throws RangeError on a sector that is mirrored where the angles aren't, or the other way round
   */
  sum(frame: PixelArray, sector: Sector, out: BinSums, variance?: Float64Array): void {
    if (sector.mirrored !== this.mirrored) throw new RangeError("the angles are those of the other kind of sector");
    checkSizes(frame, this.place.length, out, this.count);
    const { low, high } = sectorInterval(sector);
    const { records } = this;
    records.fill(0);
    // Through the end of the period a sector is two intervals; else the second one is empty.
    const range =
      low <= high
        ? { low, high, low2: Number.POSITIVE_INFINITY, high2: 0 }
        : { low, high: Number.POSITIVE_INFINITY, low2: 0, high2: high };
    addInside(frame, this.norm, this, range);
    if (variance !== undefined && out.variance !== undefined) addVariances(variance, this, range);
    for (let b = 0, r = 0; b < this.count; b++, r += RECORD) {
      out.pixels[b] = records[r]!;
      out.counts[b] = records[r + 1]!;
      out.norm[b] = records[r + 2]!;
      if (out.variance !== undefined) out.variance[b] = records[r + 3]!;
    }
  }
}

/** Up to two intervals of the folded azimuth, ends included. */
type Range = Readonly<Record<"low" | "high" | "low2" | "high2", number>>;

function addInside(
  frame: PixelArray,
  norm: Float64Array,
  { place, angles, records }: Pick<SectorPass, "place" | "angles" | "records">,
  { low, high, low2, high2 }: Range,
): void {
  for (let i = 0; i < frame.length; i++) {
    const angle = angles[i]!;
    if ((angle >= low && angle <= high) || (angle >= low2 && angle <= high2)) {
      const a = place[i]!;
      records[a]! += 1;
      records[a + 1]! += frame[i]!;
      records[a + 2]! += norm[i]!;
    }
  }
}

function addVariances(
  variance: Float64Array,
  { place, angles, records }: Pick<SectorPass, "place" | "angles" | "records">,
  { low, high, low2, high2 }: Range,
): void {
  for (let i = 0; i < variance.length; i++) {
    const angle = angles[i]!;
    if ((angle >= low && angle <= high) || (angle >= low2 && angle <= high2)) records[place[i]! + 3]! += variance[i]!;
  }
}
