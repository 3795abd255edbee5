import { isSquareToBeam } from "../geometry/bank-plane.ts";
import type { PixelArray } from "../model/frame.ts";
import type { Geometry } from "../model/geometry.ts";
import { type BinSums, checkSizes } from "./bin-sums.ts";
import { EdgeTable } from "./edge-table.ts";
import { rowAspect, squaredRadiusEdges } from "./membership.ts";

/** Numbers in a bin's record, of 32 bytes: pixels, counts, norm, variance. */
const RECORD = 4;

/**
 * Radial sums of one frame while the geometry changes: the beam centre is dragged, the distance or the wavelength edited.
 * Nothing is computed per pixel but the square of its radius; a table turns that into the bin (`squaredRadiusEdges`, as in
 * `radialMembership`, so both find the same pixels). For a bank square to the beam.
 *
 * The norm of a pixel is its efficiency times px py cos^3(2 theta) / L^2, the solid angle by "cosine-cubed"; or, without
 * solid angle, its efficiency.
 */
export class RadialTable {
  private readonly width: number;
  private readonly height: number;
  /** 1 where the pixel counts, else 0; counts and efficiency hold 0 there, so that the loop needs no test. */
  private readonly use: Uint8Array;
  private readonly efficiency: Float64Array;
  private readonly variance: Float64Array | undefined;
  private readonly hasSolidAngle: boolean;
  private counts: PixelArray;

  /**
   * @param frame one entry a pixel
   * @param efficiency whatever multiplies the norm besides the solid angle, one entry a pixel; left out: 1
   * @param variance of the frame, one entry a pixel; left out: none is summed
   * @param solidAngle "none": it doesn't enter the norm
   */
  constructor(
    { width, height }: Pick<Geometry, "width" | "height">,
    {
      frame,
      mask,
      efficiency,
      variance,
      solidAngle = "cosine-cubed",
    }: {
      readonly frame: PixelArray;
      readonly mask: Uint16Array;
      readonly efficiency?: Float64Array;
      readonly variance?: Float64Array | undefined;
      readonly solidAngle?: "cosine-cubed" | "none";
    },
  ) {
    const pixels = width * height;
    if (mask.length !== pixels || (efficiency ?? mask).length !== pixels)
      throw new RangeError(`mask of ${mask.length} and efficiency of ${efficiency?.length} pixels, bank of ${pixels}`);
    this.width = width;
    this.height = height;
    if ((variance ?? mask).length !== pixels)
      throw new RangeError(`variance of ${variance?.length} pixels, bank of ${pixels}`);
    this.use = new Uint8Array(pixels);
    this.efficiency = new Float64Array(pixels);
    for (let p = 0; p < pixels; p++)
      if (mask[p] === 0) {
        this.use[p] = 1;
        this.efficiency[p] = efficiency?.[p] ?? 1;
      }
    this.variance = variance?.slice();
    for (let p = 0; p < pixels; p++) if (this.variance !== undefined && this.use[p] === 0) this.variance[p] = 0;
    this.hasSolidAngle = solidAngle !== "none";
    this.counts = frame;
    this.setFrame(frame);
  }

  /** Takes another frame of the same bank. */
  setFrame(frame: PixelArray): void {
    if (frame.length !== this.use.length)
      throw new RangeError(`frame of ${frame.length} pixels, bank of ${this.use.length}`);
    const counts = frame.slice();
    for (let p = 0; p < counts.length; p++) if (this.use[p] === 0) counts[p] = 0;
    this.counts = counts;
  }

  /**
   * @param edges 1/angstrom, ascending; [low, high), the last bin closed
   * @throws RangeError on a tilted bank and on sizes that differ
   */
  sum(geometry: Geometry, edges: Float64Array, out: BinSums): void {
    if (!isSquareToBeam(geometry)) throw new RangeError("radii decide about bins only on a bank square to the beam");
    if (geometry.width !== this.width || geometry.height !== this.height)
      throw new RangeError(`bank of ${geometry.width} x ${geometry.height}, frame of ${this.width} x ${this.height}`);
    const table = new EdgeTable(squaredRadiusEdges(geometry, edges), 0);
    checkSizes(this.counts, this.use.length, out, table.count);
    const { pixelSizeX, pixelSizeY, distance } = geometry;
    // Records: inside the first edge, the bins.
    const set = (table.count + 1) * RECORD;
    const records = new Float64Array(2 * set);
    for (let y = 0; y < this.height; y++) this.addRow(y, geometry, table, records);
    const onAxis = this.hasSolidAngle ? (pixelSizeX * pixelSizeY) / (distance * distance) : 1;
    for (let b = 0, r = RECORD; b < table.count; b++, r += RECORD) {
      out.pixels[b] = records[r]! + records[r + set]!;
      out.counts[b] = records[r + 1]! + records[r + set + 1]!;
      out.norm[b] = (records[r + 2]! + records[r + set + 2]!) * onAxis;
      if (out.variance !== undefined) out.variance[b] = records[r + 3]! + records[r + set + 3]!;
    }
  }

  private addRow(y: number, geometry: Geometry, table: EdgeTable, records: Float64Array): void {
    const { width } = this;
    const cx = geometry.beamCentre.x;
    const dy = (y - geometry.beamCentre.y) * rowAspect(geometry);
    const dy2 = dy * dy;
    const { end } = table;
    if (!(dy2 < end)) return;
    // Columns inside the outer circle: by a root first, then by the exact test at both ends.
    const reach = Math.sqrt(end - dy2);
    const inCircle = (x: number): boolean => (x - cx) * (x - cx) + dy2 < end;
    let first = Math.max(0, Math.ceil(cx - reach));
    let last = Math.min(width - 1, Math.floor(cx + reach));
    while (first > 0 && inCircle(first - 1)) first--;
    while (last < width - 1 && inCircle(last + 1)) last++;
    while (first <= last && !inCircle(first)) first++;
    while (first <= last && !inCircle(last)) last--;
    const scale = geometry.pixelSizeX / geometry.distance;
    addStretch(this.counts, this.efficiency, this.use, {
      table,
      records,
      start: y * width,
      first,
      last,
      cx,
      dy2,
      inverse: this.hasSolidAngle ? scale * scale : 0,
    });
    if (this.variance !== undefined)
      addVariances(this.variance, { table, records, start: y * width, first, last, cx, dy2 });
  }
}

/** One row's part inside the outer circle. */
interface Stretch {
  readonly table: EdgeTable;
  readonly records: Float64Array;
  /** Index of the row's first pixel. */
  readonly start: number;
  readonly first: number;
  readonly last: number;
  readonly cx: number;
  readonly dy2: number;
  /** (p / L)^2: turns a squared radius into tan^2(2 theta); 0: no solid angle. */
  readonly inverse: number;
}

/** Two sets of records, for neighbouring pixels mostly fall into the same bin and would wait for each other. */
function addStretch(
  counts: PixelArray,
  efficiency: Float64Array,
  use: Uint8Array,
  { table, records, start, first, last, cx, dy2, inverse }: Stretch,
): void {
  const { guess, edges, scale } = table;
  const set = records.length >> 1;
  let x = first;
  for (; x < last; x += 2) {
    const i = start + x;
    const dx = x - cx;
    const r2 = dx * dx + dy2;
    let k = guess[(r2 * scale) | 0]!;
    while (r2 >= edges[k]!) k++;
    const t = 1 + r2 * inverse;
    const a = k * RECORD;
    records[a]! += use[i]!;
    records[a + 1]! += counts[i]!;
    records[a + 2]! += efficiency[i]! / (t * Math.sqrt(t));

    const dx1 = x + 1 - cx;
    const r21 = dx1 * dx1 + dy2;
    let k1 = guess[(r21 * scale) | 0]!;
    while (r21 >= edges[k1]!) k1++;
    const t1 = 1 + r21 * inverse;
    const b = k1 * RECORD + set;
    records[b]! += use[i + 1]!;
    records[b + 1]! += counts[i + 1]!;
    records[b + 2]! += efficiency[i + 1]! / (t1 * Math.sqrt(t1));
  }
  if (x === last) {
    const dx = x - cx;
    const r2 = dx * dx + dy2;
    let k = guess[(r2 * scale) | 0]!;
    while (r2 >= edges[k]!) k++;
    const t = 1 + r2 * inverse;
    const a = k * RECORD;
    records[a]! += use[start + x]!;
    records[a + 1]! += counts[start + x]!;
    records[a + 2]! += efficiency[start + x]! / (t * Math.sqrt(t));
  }
}

/** A loop of its own: frames whose variance is their counts, by far the most, don't pay for it. */
function addVariances(
  variance: Float64Array,
  { table, records, start, first, last, cx, dy2 }: Omit<Stretch, "inverse">,
): void {
  const { guess, edges, scale } = table;
  const set = records.length >> 1;
  for (let x = first; x <= last; x++) {
    const dx = x - cx;
    const r2 = dx * dx + dy2;
    let k = guess[(r2 * scale) | 0]!;
    while (r2 >= edges[k]!) k++;
    records[k * RECORD + 3 + (x & 1) * set]! += variance[start + x]!;
  }
}
