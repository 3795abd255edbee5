import besselJ1 from "@stdlib/math-base-special-besselj1";
import { cos, exp, sin } from "../model/steady-math.ts";

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
  const along = Math.abs(h) < 1e-4 ? 1 - (h * h) / 6 : sin(h) / h;
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
 * How often rods make the angle alpha with a direction Q that stands at psi to the director, for the orientation
 * distribution exp(m cos^2 beta) about the director: weights of a Simpson sum over alpha = 0..90 deg, adding up to 1.
 *
 * They do not depend on |Q|, so that a table over Q needs them once an angle.
 *
 * @param cosPsi cosine of the angle between Q and the director
 * @param m      strength of the alignment; 0: all directions alike
 */
export function alignmentWeights(cosPsi: number, m: number, steps = 1000): Float64Array {
  const sinPsi = Math.sqrt(Math.max(0, 1 - cosPsi * cosPsi));
  const weights = new Float64Array(steps + 1);
  const turns = 64;
  let total = 0;
  for (let i = 0; i <= steps; i++) {
    const alpha = (Math.PI * i) / (2 * steps);
    const [c, s] = [cos(alpha), sin(alpha)];
    let ring = 0;
    for (let j = 0; j < turns; j++) {
      const cosBeta = c * cosPsi + s * sinPsi * cos((Math.PI * (j + 0.5)) / turns);
      // exp(m (cos^2 - 1)) keeps the weight below 1 for strong alignment; the factor cancels.
      ring += exp(m * (cosBeta * cosBeta - 1));
    }
    weights[i] = simpsonWeight(i, steps) * s * ring;
    total += weights[i]!;
  }
  for (let i = 0; i <= steps; i++) weights[i]! /= total;
  return weights;
}

/** Form factor averaged with weights over alpha = 0..90 deg in equal steps (see alignmentWeights). */
export function weightedRodFormFactor(q: number, rod: RodShape, weights: Float64Array): number {
  let sum = 0;
  const steps = weights.length - 1;
  for (let i = 0; i <= steps; i++) sum += weights[i]! * rodFormFactor(q, cos((Math.PI * i) / (2 * steps)), rod);
  return sum;
}

/** Form factor averaged over the orientation distribution exp(m cos^2 beta) about a director in the detector plane. */
export function orientedRodFormFactor(q: number, cosPsi: number, rod: RodShape, m: number): number {
  return weightedRodFormFactor(q, rod, alignmentWeights(cosPsi, m));
}

function simpsonWeight(k: number, steps: number): number {
  if (k === 0 || k === steps) return 1;
  return k % 2 === 1 ? 4 : 2;
}
