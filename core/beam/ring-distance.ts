import { failure, type Result, success } from "../model/result.ts";

/**
 * Sample to detector from the radius of a powder ring: L = r / tan(2 theta), 2 theta = 2 asin(n lambda / (2 d)), with
 * the tangent of the double angle written algebraically, tan 2t = 2 s sqrt(1 - s^2) / (1 - 2 s^2), s = sin t.
 *
 * @param radius m @param dSpacing angstrom @param wavelength angstrom
 * @returns a fault where the ring would stand at 90 degrees or beyond
 */
export function ringDistance(radius: number, dSpacing: number, wavelength: number, order = 1): Result<number> {
  const s = (order * wavelength) / (2 * dSpacing);
  if (!(s > 0 && 2 * s * s < 1))
    return failure(
      "out-of-range",
      `order ${order} of ${dSpacing} A at ${wavelength} A does not scatter forward: no ring on the detector`,
    );
  return success((radius * (1 - 2 * s * s)) / (2 * s * Math.sqrt(1 - s * s)));
}

/** Radius of that ring at a distance, m; the inverse of `ringDistance`. */
export function ringRadius(distance: number, dSpacing: number, wavelength: number, order = 1): Result<number> {
  const unit = ringDistance(1, dSpacing, wavelength, order);
  return unit.ok ? success(distance / unit.value) : unit;
}
