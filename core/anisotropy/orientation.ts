import { cos, exp } from "../model/steady-math.ts";

// Measures of orientation from the azimuthal shape of scattering, and what they mean for the particles.

/** ln I0-like integrals run over this many steps of Simpson's rule. */
const STEPS = 2000;

/**
 * Second Legendre moment of an intensity I(psi) = 1 + sum over even n of c_n cos n psi about an axis in the detector
 * plane, for a sample that is uniaxial about it (Hermans' orientation factor of the intensity):
 *
 *   <cos^2> = int I cos^2 sin / int I sin over 0..90 deg,  P2 = (3 <cos^2> - 1)/2
 *
 * cos^2 psi gives 0.4, sin^2 psi -0.2, a constant 0. Means something only where the axis lies in the detector plane.
 *
 * @param even c_n by even order n
 */
export function hermansP2(even: ReadonlyMap<number, number>): number {
  let [total, cosSquared] = [sinMoment(0), (sinMoment(0) + sinMoment(2)) / 2];
  for (const [n, c] of even) {
    total += c * sinMoment(n);
    // cos^2 cos n = cos n/2 + (cos (n+2) + cos (n-2))/4
    cosSquared += c * (sinMoment(n) / 2 + (sinMoment(n + 2) + sinMoment(Math.abs(n - 2))) / 4);
  }
  return (3 * (cosSquared / total) - 1) / 2;
}

/** Integral of cos(n psi) sin(psi) over 0..90 deg for even n: -1/(n^2 - 1). */
function sinMoment(n: number): number {
  return -1 / (n * n - 1);
}

/**
 * P2 of thin rods that scatter only across themselves, from the P2 of their intensity about the director. Outside
 * -0.5..1 the assumption does not hold: undefined.
 */
export function rodP2(intensityP2AboutDirector: number): number | undefined {
  const p2 = -2 * intensityP2AboutDirector;
  return p2 >= -0.5 && p2 <= 1 ? p2 : undefined;
}

/** P2 of the orientation distribution exp(m cos^2 beta). Source: Maier and Saupe's mean-field law; closed form by Dawson's integral. */
export function maierSaupeP2(m: number): number {
  // int u^2 exp(m (u^2 - 1)) / int exp(m (u^2 - 1)) over 0..1, in steps that follow the peak at u = 1.
  let [total, square] = [0, 0];
  for (let i = 0; i <= STEPS; i++) {
    const u = i / STEPS;
    const weight = (i === 0 || i === STEPS ? 1 : i % 2 === 1 ? 4 : 2) * exp(m * (u * u - 1));
    total += weight;
    square += weight * u * u;
  }
  return (3 * (square / total) - 1) / 2;
}

/** The m whose distribution has this P2; undefined outside what the law can give up to m = 400. */
export function maierSaupeStrength(p2: number): number | undefined {
  return solveLaw(maierSaupeP2, p2, 400);
}

/** Alignment factor of a pattern exp(m cos^2 phi): I1(m/2)/I0(m/2). */
export function maierSaupeAlignment(m: number): number {
  let [total, cosine] = [0, 0];
  const turns = 512;
  for (let j = 0; j < turns; j++) {
    const c = cos((2 * Math.PI * j) / turns);
    const weight = exp((m / 2) * (c - 1));
    total += weight;
    cosine += weight * c;
  }
  return cosine / total;
}

/** The m whose pattern exp(m cos^2 phi) has this alignment factor. */
export function patternStrength(alignment: number): number | undefined {
  return solveLaw(maierSaupeAlignment, alignment, 400);
}

/** Regula falsi with Illinois' halving: keeps the root between its ends and needs some ten values of the law. */
function solveLaw(law: (m: number) => number, target: number, highest: number): number | undefined {
  let [low, atLow] = [0, law(0) - target];
  let [high, atHigh] = [highest, law(highest) - target];
  if (!(atLow <= 0 && atHigh >= 0)) return undefined;
  let side = 0;
  for (let i = 0; i < 60 && high - low > 1e-12 * high; i++) {
    // The law is nearly straight in 1/(m + 4), which falls evenly where m runs over two decades.
    const [u, v] = [1 / (low + 4), 1 / (high + 4)];
    const middle = 1 / ((u * atHigh - v * atLow) / (atHigh - atLow)) - 4;
    const value = law(middle) - target;
    if (Math.abs(value) < 1e-14) return middle;
    if (value < 0) {
      [low, atLow] = [middle, value];
      if (side < 0) atHigh /= 2;
      side = -1;
    } else {
      [high, atHigh] = [middle, value];
      if (side > 0) atLow /= 2;
      side = 1;
    }
  }
  return (low + high) / 2;
}
