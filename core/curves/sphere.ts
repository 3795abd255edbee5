import { cos, exp, sin } from "../model/steady-math.ts";

/** 1/angstrom of intensity to 1/cm: 1 A^-1 = 1e8 cm^-1. */
const PER_CM = 1e8;

/** First zero of the sphere's amplitude: tan x = x. */
export const FIRST_ZERO_QR = 4.493409457909064;

/**
 * Amplitude of a sphere, 3 (sin x - x cos x)/x^3 with x = Q R; 1 at x = 0.
 *
 * Below 0.01 by its series 1 - x^2/10 + x^4/280, where the closed form loses its digits. Source: Rayleigh 1911,
 * Proc. R. Soc. A 84, 25 (from memory).
 */
export function sphereAmplitude(x: number): number {
  const x2 = x * x;
  if (x < 0.01) return 1 - x2 / 10 + (x2 * x2) / 280;
  return (3 * (sin(x) - x * cos(x))) / (x2 * x);
}

export function sphereVolume(radius: number): number {
  return (4 / 3) * Math.PI * radius * radius * radius;
}

export interface SphereModel {
  /** angstrom; the median where `sigmaLnR` > 0 */
  readonly radius: number;
  readonly volumeFraction: number;
  /** Difference of scattering length densities, 1/angstrom^2 */
  readonly contrast: number;
  /** Width of the number-weighted lognormal distribution of radii; 0 or absent: all alike. */
  readonly sigmaLnR?: number;
}

/**
 * Scattering of dilute spheres, 1/cm: phi drho^2 <V^2 P>/<V>.
 *
 * @param q 1/angstrom, >= 0
 */
export function sphereIntensity(q: number, model: SphereModel): number {
  const { radius, volumeFraction, contrast, sigmaLnR = 0 } = model;
  const scale = volumeFraction * contrast * contrast * PER_CM;
  if (!(sigmaLnR > 0)) {
    const f = sphereAmplitude(q * radius);
    return scale * sphereVolume(radius) * f * f;
  }
  // The volume-squared weight moves the peak of the integrand to ln R + 6 s^2: integrate around it, in u = ln(R/R_m)/s.
  const centre = 6 * sigmaLnR;
  const [half, steps] = [8, 400];
  let v2p = 0;
  for (let k = 0; k <= steps; k++) {
    const u = centre - half + (2 * half * k) / steps;
    const r = radius * exp(sigmaLnR * u);
    const weight = exp((-u * u) / 2) * (k === 0 || k === steps ? 1 : k % 2 === 1 ? 4 : 2);
    const f = sphereVolume(r) * sphereAmplitude(q * r);
    v2p += weight * f * f;
  }
  const step = (2 * half) / steps / 3;
  const meanV2P = (v2p * step) / Math.sqrt(2 * Math.PI);
  const meanV = sphereVolume(radius) * exp(4.5 * sigmaLnR * sigmaLnR);
  return (scale * meanV2P) / meanV;
}

export interface CoreShellModel {
  /** angstrom */
  readonly coreRadius: number;
  readonly shellThickness: number;
  /** Volume fraction of whole particles. */
  readonly volumeFraction: number;
  /** Scattering length densities, 1/angstrom^2 */
  readonly core: number;
  readonly shell: number;
  readonly medium: number;
}

/** Scattering of dilute core-shell spheres, 1/cm: (phi/V_o) F^2 with the amplitudes of core and whole added. */
export function coreShellIntensity(q: number, model: CoreShellModel): number {
  const outer = model.coreRadius + model.shellThickness;
  const [coreVolume, outerVolume] = [sphereVolume(model.coreRadius), sphereVolume(outer)];
  const amplitude =
    coreVolume * (model.core - model.shell) * sphereAmplitude(q * model.coreRadius) +
    outerVolume * (model.shell - model.medium) * sphereAmplitude(q * outer);
  return ((model.volumeFraction * amplitude * amplitude) / outerVolume) * PER_CM;
}
