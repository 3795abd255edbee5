import type { PixelArray } from "../model/frame.ts";
import { type BinSums, checkSizes } from "./bin-sums.ts";
import type { BinMap } from "./membership.ts";
import { foldedAngle, type Sector, sectorInterval } from "./sector.ts";

/** Numbers in a bin's record: pixels, counts, norm, and one to keep it at 32 bytes. */
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
    this.place = Int32Array.from(index, (bin, p) => (mask[p] === 0 && bin >= 0 ? bin : count) * RECORD);
    this.records = new Float64Array((count + 1) * RECORD);
  }

  /** @throws RangeError on a sector that is mirrored where the angles aren't, or the other way round */
  sum(frame: PixelArray, sector: Sector, out: BinSums): void {
    if (sector.mirrored !== this.mirrored) throw new RangeError("the angles are those of the other kind of sector");
    checkSizes(frame, this.place.length, out, this.count);
    const { low, high } = sectorInterval(sector);
    const { records } = this;
    records.fill(0);
    // Through the end of the period a sector is two intervals; else the second one is empty.
    if (low <= high) addInside(frame, this.norm, this, { low, high, low2: Number.POSITIVE_INFINITY, high2: 0 });
    else addInside(frame, this.norm, this, { low, high: Number.POSITIVE_INFINITY, low2: 0, high2: high });
    for (let b = 0, r = 0; b < this.count; b++, r += RECORD) {
      out.pixels[b] = records[r]!;
      out.counts[b] = records[r + 1]!;
      out.norm[b] = records[r + 2]!;
    }
  }
}

function addInside(
  frame: PixelArray,
  norm: Float64Array,
  { place, angles, records }: Pick<SectorPass, "place" | "angles" | "records">,
  { low, high, low2, high2 }: Readonly<Record<"low" | "high" | "low2" | "high2", number>>,
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
