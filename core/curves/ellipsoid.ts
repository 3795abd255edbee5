import { sphereAmplitude } from "./sphere.ts";

export interface EllipsoidShape {
  /** Half of the axis of revolution, angstrom. */
  readonly polarRadius: number;
  readonly equatorialRadius: number;
}

/**
 * Form factor of an ellipsoid of revolution whose axis makes the angle alpha with Q; 1 at Q = 0. Along Q it looks like a
 * sphere of radius r with r^2 = polar^2 cos^2(alpha) + equatorial^2 sin^2(alpha).
 * Source: Guinier & Fournet 1955, Small-Angle Scattering of X-Rays, ch. 2 (from memory).
 *
 * @param q 1/angstrom
 * @param cosAlpha cosine of the angle between Q and the axis
 */
export function ellipsoidFormFactor(q: number, cosAlpha: number, shape: EllipsoidShape): number {
  const { polarRadius: polar, equatorialRadius: equatorial } = shape;
  const cos2 = cosAlpha * cosAlpha;
  const r = Math.sqrt(polar * polar * cos2 + equatorial * equatorial * (1 - cos2));
  const amplitude = sphereAmplitude(q * r);
  return amplitude * amplitude;
}

/** Form factor averaged over all directions of the axis, by Simpson's rule in cos(alpha). */
export function isotropicEllipsoidFormFactor(q: number, shape: EllipsoidShape, steps = 1000): number {
  let sum = 0;
  for (let k = 0; k <= steps; k++) {
    const weight = k === 0 || k === steps ? 1 : k % 2 === 1 ? 4 : 2;
    sum += weight * ellipsoidFormFactor(q, k / steps, shape);
  }
  return sum / (3 * steps);
}
