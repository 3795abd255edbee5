import { type BankPlane, bankPlane, isSquareToBeam } from "../geometry/bank-plane.ts";
import { planePosition } from "../geometry/pixel-position.ts";
import type { Geometry } from "../model/geometry.ts";

/** A map's even and odd part under a half turn about the beam, with their standard deviations; NaN: no mirror image. */
export interface MirrorParts {
  readonly even: Float64Array;
  readonly evenSigma: Float64Array;
  readonly odd: Float64Array;
  readonly oddSigma: Float64Array;
}

/**
 * Elastic scattering is even: what is anisotropic stands in the even part, while a wrong centre, a leak on one side of
 * the stop and a dead corner stand in the odd one.
 *
 *   even = (v(r) + v(-r))/2,  odd = (v(r) - v(-r))/2
 *
 * v(-r) is what the bank sees at the same Q and on the other side of the beam, on a tilted bank too. It is interpolated
 * linearly between the four pixels around that point; where one of them is masked or outside the frame nothing is said.
 *
 * @param values one entry a pixel; NaN where masked
 * @param sigma  standard deviation of each value
 */
export function mirrorParts(values: Float64Array, sigma: Float64Array, geometry: Geometry): MirrorParts {
  const { width, height } = geometry;
  const parts = {
    even: new Float64Array(values.length).fill(Number.NaN),
    evenSigma: new Float64Array(values.length).fill(Number.NaN),
    odd: new Float64Array(values.length).fill(Number.NaN),
    oddSigma: new Float64Array(values.length).fill(Number.NaN),
  };
  const mirror = mirrorOf(geometry);
  const at = new Float64Array(2);
  for (let y = 0, p = 0; y < height; y++) {
    for (let x = 0; x < width; x++, p++) {
      mirror(x, y, at);
      const [left, low] = [Math.floor(at[0]!), Math.floor(at[1]!)];
      const [fx, fy] = [at[0]! - left, at[1]! - low];
      const own = sigma[p]! * sigma[p]!;
      let [mirrored, variance, shared] = [0, 0, 0];
      for (let corner = 0; corner < 4; corner++) {
        const [dx, dy] = [corner & 1, corner >> 1];
        const weight = (dx === 1 ? fx : 1 - fx) * (dy === 1 ? fy : 1 - fy);
        if (weight === 0) continue;
        const [cx, cy] = [left + dx, low + dy];
        if (!(cx >= 0 && cy >= 0 && cx < width && cy < height)) {
          mirrored = Number.NaN;
          break;
        }
        const other = cy * width + cx;
        mirrored += weight * values[other]!;
        variance += weight * weight * sigma[other]! * sigma[other]!;
        // Beside the centre a pixel is part of its own mirror image.
        if (other === p) shared = weight * own;
      }
      parts.even[p] = (values[p]! + mirrored) / 2;
      parts.odd[p] = (values[p]! - mirrored) / 2;
      parts.evenSigma[p] = Math.sqrt(own + variance + 2 * shared) / 2;
      parts.oddSigma[p] = Math.sqrt(Math.max(0, own + variance - 2 * shared)) / 2;
    }
  }
  return parts;
}

/** Writes the array coordinates of the point that is seen at the same Q on the other side of the beam; NaN: none. */
type Mirror = (x: number, y: number, out: Float64Array) => void;

function mirrorOf(geometry: Geometry): Mirror {
  const { beamCentre } = geometry;
  if (!isSquareToBeam(geometry)) return mirrorOfPlane(bankPlane(geometry));
  const [twiceX, twiceY] = [nearWhole(2 * beamCentre.x), nearWhole(2 * beamCentre.y)];
  return (x, y, out) => {
    out[0] = twiceX - x;
    out[1] = twiceY - y;
  };
}

/** The ray (-X, -Y, Z) of the pixel that is hit by (X, Y, Z), where it meets the plane of a tilted bank. */
function mirrorOfPlane(plane: BankPlane): Mirror {
  const { point, column, row } = plane;
  const normal = [
    column[1] * row[2] - column[2] * row[1],
    column[2] * row[0] - column[0] * row[2],
    column[0] * row[1] - column[1] * row[0],
  ] as const;
  const reach = normal[0] * point[0] + normal[1] * point[1] + normal[2] * point[2];
  const square = (v: BankPlane["row"]) => v[0] * v[0] + v[1] * v[1] + v[2] * v[2];
  const [columnSquare, rowSquare] = [square(column), square(row)];
  return (x, y, out) => {
    const [px, py, pz] = planePosition(plane, x, y);
    const t = reach / (normal[2] * pz - normal[0] * px - normal[1] * py);
    const [dx, dy, dz] = [-t * px - point[0], -t * py - point[1], t * pz - point[2]];
    // Behind the sample the plane is never seen.
    out[0] = t > 0 ? plane.x + (dx * column[0] + dy * column[1] + dz * column[2]) / columnSquare : Number.NaN;
    out[1] = t > 0 ? plane.y + (dx * row[0] + dy * row[1] + dz * row[2]) / rowSquare : Number.NaN;
  };
}

/** px; a centre this close to a pixel's middle or edge is there, so that rounding costs no pixels at the mask's rim. */
const CLOSE = 1e-6;

function nearWhole(value: number): number {
  const whole = Math.round(value);
  return Math.abs(value - whole) < CLOSE ? whole : value;
}
