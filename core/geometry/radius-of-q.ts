import { waveNumber } from "./constants.ts";

/** What Q and radius depend on where the bank stands square to the beam: m and angstrom. */
export interface FlatCamera {
  readonly distance: number;
  readonly wavelength: number;
}

/** Q, 1/angstrom, at a distance from the beam centre on a bank square to the beam. @param radius m; >= 0 */
export function qOfRadius({ distance, wavelength }: FlatCamera, radius: number): number {
  const r = Math.sqrt(radius * radius + distance * distance);
  return 2 * waveNumber(wavelength) * (radius / Math.sqrt(2 * r * (r + distance)));
}

/**
 * Distance from the beam centre, m, at which a bank square to the beam sees `q`: L tan(2 theta), by algebra from
 * s = sin(theta) = q / 2k: tan(2 theta) = 2 s sqrt(1 - s^2) / (1 - 2 s^2).
 * @param q 1/angstrom; >= 0
 * @returns Infinity where 2 theta reaches 90 degrees or more, which no such bank sees
 */
export function radiusOfQ({ distance, wavelength }: FlatCamera, q: number): number {
  const s = q / (2 * waveNumber(wavelength));
  const cosTwoTheta = 1 - 2 * s * s;
  if (!(cosTwoTheta > 0)) return Number.POSITIVE_INFINITY;
  return (distance * 2 * s * Math.sqrt(1 - s * s)) / cosTwoTheta;
}
