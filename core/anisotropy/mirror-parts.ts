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
 * v(-r) is interpolated linearly between the four pixels around the mirror point; where one of them is masked or outside
 * the frame nothing is said. Turned about the beam centre in the plane of the bank, which a tilt does not keep exactly.
 *
 * @param values one entry a pixel; NaN where masked
 * @param sigma  standard deviation of each value
 */
export function mirrorParts(values: Float64Array, sigma: Float64Array, geometry: Geometry): MirrorParts {
  const { width, height, beamCentre } = geometry;
  const parts = {
    even: new Float64Array(values.length).fill(Number.NaN),
    evenSigma: new Float64Array(values.length).fill(Number.NaN),
    odd: new Float64Array(values.length).fill(Number.NaN),
    oddSigma: new Float64Array(values.length).fill(Number.NaN),
  };
  // Where the mirror point lies between pixels is the same for all of them.
  const [twiceX, twiceY] = [nearWhole(2 * beamCentre.x), nearWhole(2 * beamCentre.y)];
  const [fx, fy] = [twiceX - Math.floor(twiceX), twiceY - Math.floor(twiceY)];
  const corners = [
    { dx: 0, dy: 0, weight: (1 - fx) * (1 - fy) },
    { dx: 1, dy: 0, weight: fx * (1 - fy) },
    { dx: 0, dy: 1, weight: (1 - fx) * fy },
    { dx: 1, dy: 1, weight: fx * fy },
  ].filter(({ weight }) => weight > 0);
  for (let y = 0, p = 0; y < height; y++) {
    const my = Math.floor(twiceY) - y;
    for (let x = 0; x < width; x++, p++) {
      const mx = Math.floor(twiceX) - x;
      const own = sigma[p]! * sigma[p]!;
      let [mirrored, variance, shared] = [0, 0, 0];
      for (const { dx, dy, weight } of corners) {
        const [cx, cy] = [mx + dx, my + dy];
        if (cx < 0 || cy < 0 || cx >= width || cy >= height) {
          mirrored = Number.NaN;
          continue;
        }
        const at = cy * width + cx;
        mirrored += weight * values[at]!;
        variance += weight * weight * sigma[at]! * sigma[at]!;
        // Beside the centre a pixel is part of its own mirror image.
        if (at === p) shared = weight * own;
      }
      parts.even[p] = (values[p]! + mirrored) / 2;
      parts.odd[p] = (values[p]! - mirrored) / 2;
      parts.evenSigma[p] = Math.sqrt(own + variance + 2 * shared) / 2;
      parts.oddSigma[p] = Math.sqrt(Math.max(0, own + variance - 2 * shared)) / 2;
    }
  }
  return parts;
}

/** px; a centre this close to a pixel's middle or edge is there, so that rounding costs no pixels at the mask's rim. */
const CLOSE = 1e-6;

function nearWhole(value: number): number {
  const whole = Math.round(value);
  return Math.abs(value - whole) < CLOSE ? whole : value;
}
