import type { Geometry } from "../model/geometry.ts";
import { atan2 } from "../model/steady-math.ts";
import { type BankPlane, bankPlane, type LabVector } from "./bank-plane.ts";
import { waveNumber } from "./constants.ts";
import { eachRow, mapFor, planePosition } from "./pixel-position.ts";

const TURN = 2 * Math.PI;

/**
 * Q at a lab position: Q = 2 k sin(theta), with sin^2(theta) = rho^2 / (2 R (R + z)). No small-angle limit, no loss of
 * digits near the beam, and only operations that every engine rounds alike.
 * @param position m; not the sample itself
 * @returns 1/angstrom
 */
export function qOfPosition([x, y, z]: LabVector, wavelength: number): number {
  const rho2 = x * x + y * y;
  const r = Math.sqrt(rho2 + z * z);
  return 2 * waveNumber(wavelength) * Math.sqrt(rho2 / (2 * r * (r + z)));
}

/** Angle from the beam, rad: from atan2, since acos loses half of the digits below one degree. */
export function twoThetaOfPosition([x, y, z]: LabVector): number {
  return atan2(Math.sqrt(x * x + y * y), z);
}

/** Azimuth, 0 <= phi < 2 pi: 0 along +x, anticlockwise as displayed; 0 on the beam itself. */
export function phiOfPosition([x, y]: LabVector): number {
  return azimuth(x, y);
}

/** Q = k_f - k_i, 1/angstrom. Its length is `qOfPosition`; its z component is -Q sin(theta). */
export function qVectorOfPosition([x, y, z]: LabVector, wavelength: number): LabVector {
  const rho2 = x * x + y * y;
  const r = Math.sqrt(rho2 + z * z);
  const k = waveNumber(wavelength);
  // z/r - 1 without cancellation.
  return [(k * x) / r, (k * y) / r, (-k * rho2) / (r * (r + z))];
}

/** Q, 1/angstrom, at array coordinates that need not be whole. */
export function qAt(geometry: Geometry, x: number, y: number): number {
  return qOfPosition(planePosition(bankPlane(geometry), x, y), geometry.wavelength);
}

/** Azimuth, rad, 0 <= phi < 2 pi, at array coordinates that need not be whole. */
export function phiAt(geometry: Geometry, x: number, y: number): number {
  return phiOfPosition(planePosition(bankPlane(geometry), x, y));
}

/** Scattering angle 2 theta, rad, at array coordinates that need not be whole. */
export function twoThetaAt(geometry: Geometry, x: number, y: number): number {
  return twoThetaOfPosition(planePosition(bankPlane(geometry), x, y));
}

/**
 * Q at every pixel centre, 1/angstrom, row-major.
 * @param out filled and returned
 * @throws RangeError on a geometry that can't be, and where `out` has another length
 */
export function qMap(geometry: Geometry, out?: Float64Array): Float64Array {
  return qMapOfPlane(bankPlane(geometry), geometry.wavelength, out);
}

/** As `qMap`, for a bank that is given by its plane. */
export function qMapOfPlane(plane: BankPlane, wavelength: number, out?: Float64Array): Float64Array {
  const map = mapFor(plane, out);
  const twoK = 2 * waveNumber(wavelength);
  eachRow(plane, (xs, ys, zs, start) => {
    for (let i = 0; i < xs.length; i++) {
      const z = zs[i]!;
      const rho2 = xs[i]! * xs[i]! + ys[i]! * ys[i]!;
      const r = Math.sqrt(rho2 + z * z);
      map[start + i] = twoK * Math.sqrt(rho2 / (2 * r * (r + z)));
    }
  });
  return map;
}

/** Azimuth at every pixel centre, rad, 0 <= phi < 2 pi, row-major. Arguments and errors as in `qMap`. */
export function azimuthMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  eachRow(plane, (xs, ys, _zs, start) => {
    for (let i = 0; i < xs.length; i++) map[start + i] = azimuth(xs[i]!, ys[i]!);
  });
  return map;
}

/** 2 theta at every pixel centre, rad, row-major. Arguments and errors as in `qMap`. */
export function twoThetaMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  eachRow(plane, (xs, ys, zs, start) => {
    for (let i = 0; i < xs.length; i++) map[start + i] = atan2(Math.sqrt(xs[i]! * xs[i]! + ys[i]! * ys[i]!), zs[i]!);
  });
  return map;
}

/** Cosine of 2 theta at every pixel centre: z / R, the form to correct with. Arguments and errors as in `qMap`. */
export function cosTwoThetaMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  eachRow(plane, (xs, ys, zs, start) => directionCosines(zs, [xs, ys, zs], { map, start, scale: 1 }));
  return map;
}

/** Cosine of the slope of the flight to the horizontal at every pixel centre. Arguments and errors as in `qMap`. */
export function cosElevationMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  eachRow(plane, (xs, ys, zs, start) => {
    for (let i = 0; i < xs.length; i++) {
      const level2 = xs[i]! * xs[i]! + zs[i]! * zs[i]!;
      map[start + i] = Math.sqrt(level2 / (level2 + ys[i]! * ys[i]!));
    }
  });
  return map;
}

/** Qx at every pixel centre, 1/angstrom, row-major. Arguments and errors as in `qMap`. */
export function qxMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  const scale = waveNumber(geometry.wavelength);
  eachRow(plane, (xs, ys, zs, start) => directionCosines(xs, [xs, ys, zs], { map, start, scale }));
  return map;
}

/** Qy at every pixel centre, 1/angstrom, row-major. Arguments and errors as in `qMap`. */
export function qyMap(geometry: Geometry, out?: Float64Array): Float64Array {
  const plane = bankPlane(geometry);
  const map = mapFor(plane, out);
  const scale = waveNumber(geometry.wavelength);
  eachRow(plane, (xs, ys, zs, start) => directionCosines(ys, [xs, ys, zs], { map, start, scale }));
  return map;
}

function directionCosines(
  component: Float64Array,
  [xs, ys, zs]: readonly [Float64Array, Float64Array, Float64Array],
  { map, start, scale }: { readonly map: Float64Array; readonly start: number; readonly scale: number },
): void {
  for (let i = 0; i < component.length; i++)
    map[start + i] = (scale * component[i]!) / Math.sqrt(xs[i]! * xs[i]! + ys[i]! * ys[i]! + zs[i]! * zs[i]!);
}

function azimuth(x: number, y: number): number {
  const phi = atan2(y, x);
  if (phi >= 0) return phi + 0; // turns -0 into 0
  // Just below 0 the sum rounds to a full turn, which is 0 again.
  const wrapped = phi + TURN;
  return wrapped < TURN ? wrapped : 0;
}
