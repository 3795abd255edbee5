import type { Geometry } from "../model/geometry.ts";
import { NEUTRON_MASS, PLANCK_CONSTANT, STANDARD_GRAVITY } from "./constants.ts";
import { arrayPosition } from "./pixel-position.ts";

/** g m^2 / (2 h^2), 1/(m angstrom^2): a free fall over the length L from rest is this times lambda^2 L^2. */
export const GRAVITY_FALL =
  (((STANDARD_GRAVITY * NEUTRON_MASS) / PLANCK_CONSTANT) * (NEUTRON_MASS / PLANCK_CONSTANT) * 1e-20) / 2;

/** Lengths of the flight, m. */
export interface FlightPath {
  /** Source aperture to sample aperture; 0: the beam starts level at the sample. */
  readonly collimation: number;
  /** Sample to detector. */
  readonly distance: number;
}

/**
 * How far below the straight line neutrons reach the detector, m, when both aperture centres stand at one height:
 * B lambda^2 L2 (L1 + L2), from the parabola through them (ballistics; Mildner, Barker & Kline 2011, J. Appl. Cryst.
 * 44, 1127).
 * @param wavelength angstrom; > 0
 */
export function gravityDrop({ collimation, distance }: FlightPath, wavelength: number): number {
  if (!(collimation >= 0 && distance > 0)) throw new RangeError(`flight path of ${collimation} m and ${distance} m`);
  return GRAVITY_FALL * wavelength * wavelength * distance * (collimation + distance);
}

/**
 * Standard deviation, m, that the spread of wavelengths gives the height at the detector: 2 drop sigma_lambda / lambda.
 * @param relativeSigma standard deviation of the wavelength over its mean
 */
export function gravitySmearing(path: FlightPath, wavelength: number, relativeSigma: number): number {
  return 2 * gravityDrop(path, wavelength) * relativeSigma;
}

/**
 * Beam centre, array coordinates, of another wavelength than the one at which the centre was found. A measured centre
 * holds its own drop already, so only the difference moves it: longer wavelengths lie lower in the picture.
 * @param measuredAt angstrom; 0 for a centre on the straight line
 * @returns undefined where the bank is tilted
 */
export function beamCentreAtWavelength(
  geometry: Geometry,
  collimation: number,
  measuredAt: number,
): { readonly x: number; readonly y: number } | undefined {
  const path = { collimation, distance: geometry.distance };
  return arrayPosition(geometry, 0, gravityDrop(path, measuredAt) - gravityDrop(path, geometry.wavelength));
}
