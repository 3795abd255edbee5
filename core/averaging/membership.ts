import { isSquareToBeam } from "../geometry/bank-plane.ts";
import { radiusOfQ } from "../geometry/radius-of-q.ts";
import type { Geometry } from "../model/geometry.ts";
import { EdgeTable } from "./edge-table.ts";
import { foldedAngle, isInside, type Sector, sectorInterval } from "./sector.ts";

/** Which bin each pixel's centre falls into, whatever the mask says. */
export interface BinMap {
  /** Row-major, one entry a pixel; -1: in no bin. */
  readonly index: Int32Array;
  readonly count: number;
  /** count + 1 edges: Q in 1/angstrom, or phi in rad for an annulus. */
  readonly edges: Float64Array;
}

/** Azimuths of pixels and edges closer than this, rad, count as equal: rounding doesn't decide who is on an edge. */
const ANGLE_SLACK = 1e-12;
/** The same for the half-width of a box, relatively. */
const WIDTH_SLACK = 1e-12;

/**
 * Bins of Q. Square to the beam, Q rises with the distance from the beam centre, and the squares of the edges' radii
 * decide (`squaredRadiusEdges`): every way of averaging uses that same test and finds the same pixels. On a tilted bank
 * the Q map decides.
 * @param edges 1/angstrom, ascending; [low, high), the last bin closed
 * @param q the geometry's Q map; read only where the bank is tilted
 */
export function radialMembership(geometry: Geometry, edges: Float64Array, q: Float64Array): BinMap {
  const { width, height, beamCentre } = geometry;
  const index = new Int32Array(width * height);
  if (q.length !== index.length) throw new RangeError(`Q map of ${q.length} pixels for ${width} x ${height}`);
  if (!isSquareToBeam(geometry)) {
    const table = new EdgeTable(edges);
    for (let p = 0; p < index.length; p++) index[p] = table.locate(q[p]!);
    return { index, count: table.count, edges };
  }
  const table = new EdgeTable(squaredRadiusEdges(geometry, edges));
  const aspect = rowAspect(geometry);
  for (let y = 0, p = 0; y < height; y++) {
    const dy = (y - beamCentre.y) * aspect;
    const dy2 = dy * dy;
    for (let x = 0; x < width; x++, p++) {
      const dx = x - beamCentre.x;
      index[p] = table.locate(dx * dx + dy2);
    }
  }
  return { index, count: table.count, edges };
}

/**
 * Squares of the radii of Q edges on a bank square to the beam, in units of the column pitch squared. With dx = x - cx
 * and dy = (y - cy) * `rowAspect`, a pixel lies in bin k when edge k <= dx dx + dy dy < edge k + 1. Edges beyond the bank
 * (and those at 2 theta >= 90 degrees, which have no radius) are brought down to just outside its farthest corner.
 */
export function squaredRadiusEdges(geometry: Geometry, edges: Float64Array): Float64Array {
  const { width, height, beamCentre, pixelSizeX } = geometry;
  const farX = Math.max(Math.abs(beamCentre.x), Math.abs(width - 1 - beamCentre.x));
  const farY = Math.max(Math.abs(beamCentre.y), Math.abs(height - 1 - beamCentre.y)) * rowAspect(geometry);
  const outside = 2 * (farX * farX + farY * farY) + 1;
  return edges.map((edge) => {
    const radius = radiusOfQ(geometry, Math.max(0, edge)) / pixelSizeX;
    return Math.min(radius * radius, outside);
  });
}

/** Pitch of the rows over pitch of the columns. */
export function rowAspect(geometry: Geometry): number {
  return geometry.pixelSizeY / geometry.pixelSizeX;
}

/** Those pixels of `radial` whose azimuth lies in the sector, its edges included. @param phi rad, one entry a pixel */
export function sectorMembership(radial: BinMap, phi: Float64Array, sector: Sector): BinMap {
  if (phi.length !== radial.index.length)
    throw new RangeError(`azimuths of ${phi.length} pixels, bins of ${radial.index.length}`);
  const interval = sectorInterval(sector);
  const index = radial.index.slice();
  for (let p = 0; p < index.length; p++)
    if (index[p] !== -1 && !isInside(interval, sector.mirrored ? foldedAngle(phi[p]!) : phi[p]!)) index[p] = -1;
  return { ...radial, index };
}

export interface Annulus {
  /** 1/angstrom; both ends included. */
  readonly qMin: number;
  readonly qMax: number;
  readonly count: number;
  /** Lower edge of the first bin, rad. Left out: half a bin below 0, so that the first bin is centred on +x. */
  readonly start?: number | undefined;
}

/**
 * Equal bins of azimuth over a full turn, of the pixels with qMin <= Q <= qMax. A pixel on an edge belongs to the upper bin.
 * @returns edges in rad, from `start`
 */
export function annulusMembership(
  geometry: Geometry,
  annulus: Annulus,
  { q, phi }: { readonly q: Float64Array; readonly phi: Float64Array },
): BinMap {
  const { count } = annulus;
  if (!(Number.isInteger(count) && count > 0)) throw new RangeError(`an annulus of ${count} bins`);
  if (phi.length !== q.length) throw new RangeError(`azimuths of ${phi.length} pixels, Q of ${q.length}`);
  const { index } = radialMembership(geometry, Float64Array.of(annulus.qMin, annulus.qMax), q);
  const step = (2 * Math.PI) / count;
  const start = annulus.start ?? -step / 2;
  for (let p = 0; p < index.length; p++) {
    if (index[p] === -1) continue;
    const turns = (phi[p]! - start + ANGLE_SLACK) / step;
    const bin = Math.floor(turns) % count;
    index[p] = bin < 0 ? bin + count : bin;
  }
  return { index, count, edges: Float64Array.from({ length: count + 1 }, (_, k) => start + k * step) };
}

/** Bins of one component of Q, of the pixels whose other component is at most `halfWidth` from 0; all in 1/angstrom. */
export function boxMembership(
  { along, across }: { readonly along: Float64Array; readonly across: Float64Array },
  halfWidth: number,
  edges: Float64Array,
): BinMap {
  if (along.length !== across.length) throw new RangeError(`${along.length} and ${across.length} pixels`);
  const table = new EdgeTable(edges);
  const limit = halfWidth * (1 + WIDTH_SLACK);
  const index = new Int32Array(along.length);
  for (let p = 0; p < index.length; p++) index[p] = Math.abs(across[p]!) <= limit ? table.locate(along[p]!) : -1;
  return { index, count: table.count, edges };
}
