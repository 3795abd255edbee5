import type { Geometry } from "../model/geometry.ts";
import { atan, atan2 } from "../model/steady-math.ts";
import { type BankPlane, bankPlane, isSquareToBeam, type LabVector } from "./bank-plane.ts";
import { eachRow, mapFor, planePosition } from "./pixel-position.ts";

export type SolidAngleMethod = "exact" | "cosine-cubed";

/**
 * Solid angle of every pixel as seen from the sample, sr, row-major.
 * - "exact": the pixel as a plane figure. Square to the beam by the corner function A(x, y) = atan(x y / (L sqrt(L^2 +
 *   x^2 + y^2))), so that the pixels add up to the closed form of the whole bank; tilted by two triangles (Van Oosterom
 *   & Strackee 1983, IEEE Trans. Biomed. Eng. 30, 125).
 * - "cosine-cubed": area over square of the distance at the pixel's centre; px py cos^3(2 theta) / L^2 on a bank square
 *   to the beam. Some 1e-6 too large for 5 mm pixels at 2 m.
 * @param out filled and returned
 * @throws RangeError on a geometry that can't be, and where `out` has another length
 */
export function solidAngleMap(geometry: Geometry, method: SolidAngleMethod, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const omega = mapFor(plane, out);
  if (method === "cosine-cubed") centreSolidAngles(plane, omega);
  else if (isSquareToBeam(geometry)) squareSolidAngles(geometry, omega);
  else for (let p = 0; p < omega.length; p++) omega[p] = pixelSolidAngle(plane, p % plane.width, (p / plane.width) | 0);
  return omega;
}

/** Exact solid angle, sr, of one pixel of any plane: two triangles of Van Oosterom & Strackee. */
export function pixelSolidAngle(plane: BankPlane, x: number, y: number): number {
  return cornerSolidAngle(plane, planePosition(plane, x - 0.5, y - 0.5), [1, 1]);
}

/** Exact solid angle, sr, of the whole bank. */
export function bankSolidAngle(plane: BankPlane): number {
  return cornerSolidAngle(plane, planePosition(plane, -0.5, -0.5), [plane.width, plane.height]);
}

function cornerSolidAngle(plane: BankPlane, a: LabVector, [columns, rows]: readonly [number, number]): number {
  const c = scaled(plane.column, columns);
  const r = scaled(plane.row, rows);
  const b = sum(a, c);
  const opposite = sum(b, r);
  const d = sum(a, r);
  // Both triangles have the same triple product, a . (c x r): taken from the sides, it does not cancel.
  const triple = Math.abs(dot(a, cross(c, r)));
  return triangle(triple, a, b, opposite) + triangle(triple, a, opposite, d);
}

function triangle(triple: number, a: LabVector, b: LabVector, c: LabVector): number {
  const la = Math.sqrt(dot(a, a));
  const lb = Math.sqrt(dot(b, b));
  const lc = Math.sqrt(dot(c, c));
  return 2 * atan2(triple, la * lb * lc + dot(a, b) * lc + dot(a, c) * lb + dot(b, c) * la);
}

function centreSolidAngles(plane: BankPlane, out: Float64Array): void {
  const normal = cross(plane.column, plane.row);
  // The distance of the plane from the sample times the pixel area: the same for every pixel.
  const projected = Math.abs(dot(plane.point, normal));
  eachRow(plane, (xs, ys, zs, start) => {
    for (let i = 0; i < xs.length; i++) {
      const r2 = xs[i]! * xs[i]! + ys[i]! * ys[i]! + zs[i]! * zs[i]!;
      out[start + i] = projected / (r2 * Math.sqrt(r2));
    }
  });
}

function squareSolidAngles(geometry: Geometry, out: Float64Array): void {
  const { width, height, beamCentre, pixelSizeX, pixelSizeY, distance } = geometry;
  const corner = (x: number, y: number): number =>
    atan((x * y) / (distance * Math.sqrt(distance * distance + x * x + y * y)));
  const columnEdge = (x: number): number => (x - 0.5 - beamCentre.x) * pixelSizeX;
  const rowEdge = (y: number): number => (y - 0.5 - beamCentre.y) * pixelSizeY;

  let below = new Float64Array(width + 1);
  let above = new Float64Array(width + 1);
  for (let x = 0; x <= width; x++) below[x] = corner(columnEdge(x), rowEdge(0));
  for (let y = 0, p = 0; y < height; y++) {
    const edge = rowEdge(y + 1);
    for (let x = 0; x <= width; x++) above[x] = corner(columnEdge(x), edge);
    for (let x = 0; x < width; x++, p++) out[p] = above[x + 1]! - above[x]! - (below[x + 1]! - below[x]!);
    [below, above] = [above, below];
  }
}

function scaled(v: LabVector, s: number): LabVector {
  return [v[0] * s, v[1] * s, v[2] * s];
}

function sum(a: LabVector, b: LabVector): LabVector {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

function dot(a: LabVector, b: LabVector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

function cross(a: LabVector, b: LabVector): LabVector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
