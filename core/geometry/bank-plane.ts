import type { Geometry } from "../model/geometry.ts";

/** x, y, z in the lab frame: origin at the sample, z along the beam, x right and y up looking from detector to source. */
export type LabVector = readonly [number, number, number];

/**
 * Where the pixels of a flat bank stand, however it is turned: pixel (x, y) of the array has its centre at
 * `point` + (x - `x`) `column` + (y - `y`) `row`, in m. Steps are taken from a reference pixel, not from pixel (0,0), so
 * that pixels which mirror each other in the beam centre keep exactly opposite coordinates.
 */
export interface BankPlane {
  readonly width: number;
  readonly height: number;
  /** The reference point, in array coordinates and in the lab. */
  readonly x: number;
  readonly y: number;
  readonly point: LabVector;
  /** From one column to the next, and from one row to the next. */
  readonly column: LabVector;
  readonly row: LabVector;
}

/**
 * @returns the plane of `geometry`. Array axes become picture axes (transpose, then row order), the picture is turned
 * about lab x and then lab y (right-handed) through the beam centre, and the centre is put at (0, 0, distance).
 */
export function bankPlane(geometry: Geometry): BankPlane {
  checkGeometry(geometry);
  const { width, height, beamCentre, distance, pixelSizeX, pixelSizeY, transpose, rowOrder, tilt } = geometry;
  const up = rowOrder === "bottom-up" ? 1 : -1;
  const column: LabVector = transpose ? [0, up * pixelSizeX, 0] : [pixelSizeX, 0, 0];
  const row: LabVector = transpose ? [pixelSizeY, 0, 0] : [0, up * pixelSizeY, 0];
  return {
    width,
    height,
    x: beamCentre.x,
    y: beamCentre.y,
    point: [0, 0, distance],
    column: turned(column, tilt),
    row: turned(row, tilt),
  };
}

/** True where the bank stands square to the beam, so that Q depends on the distance from the beam centre alone. */
export function isSquareToBeam(geometry: Geometry): boolean {
  return geometry.tilt[0] === 0 && geometry.tilt[1] === 0;
}

function turned(v: LabVector, [aboutX, aboutY]: readonly [number, number]): LabVector {
  const [sinX, cosX] = sineCosine(aboutX);
  const [sinY, cosY] = sineCosine(aboutY);
  const y = v[1] * cosX - v[2] * sinX;
  const z = v[1] * sinX + v[2] * cosX;
  return [v[0] * cosY + z * sinY, y, -v[0] * sinY + z * cosY];
}

/**
 * Sine and cosine by their series. Engines differ in the last bit of Math.sin, and a reduction must give the same bits
 * in the window and on the command line. Exact to rounding for |angle| <= pi/2 (first dropped term below 1e-22).
 */
function sineCosine(angle: number): readonly [number, number] {
  const squared = angle * angle;
  let sine = 0;
  let cosine = 0;
  for (let n = 26; n >= 2; n -= 2) {
    cosine = (1 - cosine) * (squared / (n * (n - 1)));
    sine = (1 - sine) * (squared / (n * (n + 1)));
  }
  return [angle * (1 - sine), 1 - cosine];
}

function checkGeometry({ width, height, pixelSizeX, pixelSizeY, distance, wavelength, beamCentre, tilt }: Geometry) {
  if (!(Number.isInteger(width) && Number.isInteger(height) && width > 0 && height > 0))
    throw new RangeError(`a bank needs whole numbers of columns and rows, not ${width} x ${height}`);
  // "not >" rather than "<=", so that NaN is refused too.
  if (!(pixelSizeX > 0 && pixelSizeY > 0))
    throw new RangeError(`pixel size must be > 0 m, not ${pixelSizeX} x ${pixelSizeY}`);
  if (!(distance > 0)) throw new RangeError(`distance must be > 0 m, not ${distance}`);
  if (!(wavelength > 0)) throw new RangeError(`wavelength must be > 0 angstrom, not ${wavelength}`);
  if (!(Number.isFinite(beamCentre.x) && Number.isFinite(beamCentre.y)))
    throw new RangeError(`beam centre must be finite, not (${beamCentre.x}, ${beamCentre.y})`);
  if (!tilt.every((angle) => Math.abs(angle) < Math.PI / 2))
    throw new RangeError(`tilt must be less than 90 degrees, not ${tilt.join(", ")} rad`);
}
