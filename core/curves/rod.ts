import besselJ1 from "@stdlib/math-base-special-besselj1";

export interface RodShape {
  /** angstrom */
  readonly length: number;
  readonly radius: number;
}

/**
 * Form factor of a cylinder whose axis makes the angle alpha with Q; 1 at Q = 0:
 *
 *   P = [ sin(h)/h * 2 J1(r)/r ]^2,  h = Q L cos(alpha)/2,  r = Q R sin(alpha)
 *
 * @param q 1/angstrom
 * @param cosAlpha cosine of the angle between Q and the rod axis
 */
export function rodFormFactor(q: number, cosAlpha: number, rod: RodShape): number {
  const h = (q * rod.length * cosAlpha) / 2;
  const r = q * rod.radius * Math.sqrt(Math.max(0, 1 - cosAlpha * cosAlpha));
  const along = Math.abs(h) < 1e-4 ? 1 - (h * h) / 6 : Math.sin(h) / h;
  const across = r < 1e-4 ? 1 - (r * r) / 8 : (2 * besselJ1(r)) / r;
  const amplitude = along * across;
  return amplitude * amplitude;
}

/** Form factor averaged over all directions of the axis, by Simpson's rule in cos(alpha). */
export function isotropicRodFormFactor(q: number, rod: RodShape, steps = 2000): number {
  let sum = 0;
  for (let k = 0; k <= steps; k++) sum += simpsonWeight(k, steps) * rodFormFactor(q, k / steps, rod);
  return sum / (3 * steps);
}

/**
 * Form factor averaged over the orientation distribution exp(m cos^2 beta) about a director in the detector plane.
 *
 * @param cosPsi cosine of the angle between Q and the director
 * @param m      strength of the alignment; 0: all directions alike
 */
export function orientedRodFormFactor(q: number, cosPsi: number, rod: RodShape, m: number, steps = 240): number {
  const sinPsi = Math.sqrt(Math.max(0, 1 - cosPsi * cosPsi));
  // Directions about the director: beta from 0 to 90 deg (the rod has no head), omega around it from 0 to 180 deg.
  // In beta rather than in cos(beta) the integrand has no square-root end, so that Simpson's rule converges fast.
  let sum = 0;
  let weightSum = 0;
  for (let i = 0; i <= steps; i++) {
    const beta = (Math.PI * i) / (2 * steps);
    const [u, sinBeta] = [Math.cos(beta), Math.sin(beta)];
    // exp(m (u^2 - 1)) keeps the weight below 1 for strong alignment; the factor cancels.
    const weight = simpsonWeight(i, steps) * Math.exp(m * (u * u - 1)) * sinBeta;
    let ring = 0;
    for (let j = 0; j < steps; j++) {
      const omega = (Math.PI * (j + 0.5)) / steps;
      ring += rodFormFactor(q, u * cosPsi + sinBeta * Math.cos(omega) * sinPsi, rod);
    }
    sum += (weight * ring) / steps;
    weightSum += weight;
  }
  return sum / weightSum;
}

function simpsonWeight(k: number, steps: number): number {
  if (k === 0 || k === steps) return 1;
  return k % 2 === 1 ? 4 : 2;
}
