import type { Geometry } from "../model/geometry.ts";
import { type BankPlane, bankPlane, isSquareToBeam, type LabVector } from "./bank-plane.ts";

/** Lab position, m, of array coordinates on a plane; (x, y) need not be whole. */
export function planePosition(plane: BankPlane, x: number, y: number): LabVector {
  const { point, column, row } = plane;
  const dx = x - plane.x;
  const dy = y - plane.y;
  return [
    point[0] + dx * column[0] + dy * row[0],
    point[1] + dx * column[1] + dy * row[1],
    point[2] + dx * column[2] + dy * row[2],
  ];
}

/** Lab position, m, of array coordinates; pixel centres are at whole numbers. */
export function pixelPosition(geometry: Geometry, x: number, y: number): LabVector {
  return planePosition(bankPlane(geometry), x, y);
}

/**
 * Array coordinates of the lab point (labX, labY, distance), m: the inverse of `pixelPosition`.
 * @returns undefined where the bank is tilted, so that the point need not lie on it
 */
export function arrayPosition(
  geometry: Geometry,
  labX: number,
  labY: number,
): { readonly x: number; readonly y: number } | undefined {
  if (!isSquareToBeam(geometry)) return undefined;
  const { beamCentre, pixelSizeX, pixelSizeY, transpose, rowOrder } = geometry;
  const pictureY = rowOrder === "bottom-up" ? labY : -labY;
  const [alongColumns, alongRows] = transpose ? [pictureY, labX] : [labX, pictureY];
  return { x: beamCentre.x + alongColumns / pixelSizeX, y: beamCentre.y + alongRows / pixelSizeY };
}

/** `out`, or a new map of the bank. @throws RangeError where `out` has another length */
export function mapFor({ width, height }: BankPlane, out?: Float64Array): Float64Array {
  if (out === undefined) return new Float64Array(width * height);
  if (out.length !== width * height) throw new RangeError(`out has ${out.length} entries, the bank ${width * height}`);
  return out;
}

/**
 * Calls `visit` once a row with the lab positions, m, of its pixel centres and the index of its first pixel. The arrays
 * are used again for the next row: one call a row, since one a pixel would put every number on the heap.
 */
export function eachRow(
  plane: BankPlane,
  visit: (xs: Float64Array, ys: Float64Array, zs: Float64Array, start: number) => void,
): void {
  const { width, height, point, column, row } = plane;
  const xs = new Float64Array(width);
  const ys = new Float64Array(width);
  const zs = new Float64Array(width);
  for (let y = 0; y < height; y++) {
    const dy = y - plane.y;
    for (let x = 0; x < width; x++) {
      const dx = x - plane.x;
      xs[x] = point[0] + dx * column[0] + dy * row[0];
      ys[x] = point[1] + dx * column[1] + dy * row[1];
      zs[x] = point[2] + dx * column[2] + dy * row[2];
    }
    visit(xs, ys, zs, y * width);
  }
}
