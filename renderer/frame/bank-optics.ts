import {
  type BankPlane,
  bankPlane,
  phiOfPosition,
  planePosition,
  qOfPosition,
  twoThetaOfPosition,
  waveNumber,
} from "../../core/geometry/index.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import type { ArrayPoint } from "../view-types.ts";

/** What a point of the bank sees: Q in 1/angstrom, angles in rad, 0 <= phi < 2 pi. */
export interface PointOptics {
  readonly q: number;
  readonly twoTheta: number;
  readonly phi: number;
}

/** A bank with its plane worked out once, for the few points that a view asks about. */
export interface BankOptics {
  readonly geometry: Geometry;
  readonly plane: BankPlane;
}

export function bankOptics(geometry: Geometry): BankOptics {
  return { geometry, plane: bankPlane(geometry) };
}

/** @param point array coordinates, need not be whole */
export function opticsAt({ geometry, plane }: BankOptics, point: ArrayPoint): PointOptics {
  const position = planePosition(plane, point.x, point.y);
  return {
    q: qOfPosition(position, geometry.wavelength),
    twoTheta: twoThetaOfPosition(position),
    phi: phiOfPosition(position),
  };
}

/** Scattering angle, rad, of Q; NaN beyond 4 pi / lambda, which nothing scatters to. */
export function twoThetaOfQ({ geometry }: BankOptics, q: number): number {
  return 2 * Math.asin(q / (2 * waveNumber(geometry.wavelength)));
}

/**
 * Where the ray of a direction meets the bank, in array coordinates.
 * @returns undefined where it never does (it runs beside the bank's plane or away from it)
 */
export function pointOfDirection({ plane }: BankOptics, twoTheta: number, phi: number): ArrayPoint | undefined {
  const sine = Math.sin(twoTheta);
  const ray = [sine * Math.cos(phi), sine * Math.sin(phi), Math.cos(twoTheta)] as const;
  const { point, column, row } = plane;
  // t ray = point + u column + v row, by Cramer's rule: the normal first.
  const normal = cross(column, row);
  const towards = dot(ray, normal);
  if (!(Math.abs(towards) > 0)) return undefined;
  const t = dot(point, normal) / towards;
  if (!(t > 0)) return undefined;
  const offset = [t * ray[0] - point[0], t * ray[1] - point[1], t * ray[2] - point[2]] as const;
  const square = dot(normal, normal);
  return {
    x: plane.x + dot(cross(offset, row), normal) / square,
    y: plane.y + dot(cross(column, offset), normal) / square,
  };
}

/** The direction in which phi runs on the bank from the beam centre: straight, whatever the tilt. Unit length, px. */
export function directionOfPhi(optics: BankOptics, phi: number): ArrayPoint {
  const near = pointOfDirection(optics, SMALL_ANGLE, phi);
  if (!near) throw new RangeError("the bank is seen edge-on from the sample");
  const dx = near.x - optics.plane.x;
  const dy = near.y - optics.plane.y;
  const length = Math.hypot(dx, dy);
  return { x: dx / length, y: dy / length };
}

/** Points of the line of equal Q, closed where the bank's plane holds all of it. */
export function qLine(optics: BankOptics, q: number, points: number): ArrayPoint[] {
  const twoTheta = twoThetaOfQ(optics, q);
  if (!Number.isFinite(twoTheta)) return [];
  const line: ArrayPoint[] = [];
  for (let i = 0; i < points; i++) {
    const at = pointOfDirection(optics, twoTheta, (2 * Math.PI * i) / points);
    if (at) line.push(at);
  }
  return line;
}

/** rad; small against any tilt, large against rounding. */
const SMALL_ANGLE = 1e-3;

type Triple = readonly [number, number, number];

function cross(a: Triple, b: Triple): Triple {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a: Triple, b: Triple): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
