import type { Collimation, Geometry } from "../model/geometry.ts";
import { failure, type Result, success } from "../model/result.ts";
import { ln } from "../model/steady-math.ts";
import { waveNumber } from "./constants.ts";

/** Shape of the wavelength distribution; its width is given as full width at half maximum over the mean. */
export type WavelengthLaw = "triangular" | "gaussian" | "rectangular";

/** Standard deviation of the wavelength over its mean. A velocity selector is taken as triangular. */
export function relativeWavelengthSigma(spread: number, law: WavelengthLaw = "triangular"): number {
  if (law === "triangular") return spread / Math.sqrt(6);
  if (law === "rectangular") return spread / Math.sqrt(12);
  return spread / (2 * Math.sqrt(2 * ln(2)));
}

/** Q resolution of a camera, as a function of Q; everything is a standard deviation or its square. */
export interface QResolution {
  /** Variance of Q at a pixel, 1/angstrom^2: apertures, pixel and wavelength; without the width of a bin. */
  variance(q: number): number;
  readonly relativeWavelengthSigma: number;
}

export interface ResolutionOptions {
  readonly law?: WavelengthLaw;
  /** "small-angle" sets both cosines to 1, as most published formulas do. */
  readonly form?: "wide-angle" | "small-angle";
}

/**
 * Second moments of a pinhole camera (Mildner & Carpenter 1984, J. Appl. Cryst. 17, 249; Pedersen, Posselt & Mortensen
 * 1990, J. Appl. Cryst. 23, 321, who give full widths instead): sigma_Q^2 =
 * k^2 cos^2(theta) [(R1/2 L1)^2 + (R2/2)^2 (1/L1 + cos^2(2 theta)/L2)^2 + (p^2/12) (cos^2(2 theta)/L2)^2] + Q^2 (sigma_l/l)^2.
 * Pixels that aren't square count with the mean of the squares of their sides; a tilt of the bank is not considered.
 * @returns a fault of code "missing" that names what isn't known
 */
export function qResolution(
  geometry: Geometry,
  collimation: Collimation,
  { law = "triangular", form = "wide-angle" }: ResolutionOptions = {},
): Result<QResolution> {
  const { sourceAperture, sampleAperture, length, wavelengthSpread } = collimation;
  if (
    sourceAperture === undefined ||
    sampleAperture === undefined ||
    length === undefined ||
    wavelengthSpread === undefined
  ) {
    const unknown = Object.entries({
      "source aperture": sourceAperture,
      "sample aperture": sampleAperture,
      "collimation length": length,
      "wavelength spread": wavelengthSpread,
    }).flatMap(([name, value]) => (value === undefined ? [name] : []));
    return failure("missing", `no Q resolution: ${unknown.join(", ")} not known`);
  }
  if (!(sourceAperture > 0 && sampleAperture > 0 && length > 0 && wavelengthSpread >= 0))
    return failure(
      "out-of-range",
      `no Q resolution: apertures of ${sourceAperture} and ${sampleAperture} m, collimation of ${length} m and wavelength spread ${wavelengthSpread} must be > 0`,
    );

  const k = waveNumber(geometry.wavelength);
  const l2 = geometry.distance;
  // Per axis: a uniform disc of diameter d has variance d^2/16, a side p has p^2/12.
  const source = (sourceAperture / (4 * length)) * (sourceAperture / (4 * length));
  const sample = (sampleAperture / 4) * (sampleAperture / 4);
  const pixel = (geometry.pixelSizeX * geometry.pixelSizeX + geometry.pixelSizeY * geometry.pixelSizeY) / 24;
  const wavelength = relativeWavelengthSigma(wavelengthSpread, law);
  return success({
    relativeWavelengthSigma: wavelength,
    variance(q) {
      const sine = form === "wide-angle" ? q / (2 * k) : 0;
      const sine2 = sine * sine;
      const cosTwoTheta = 1 - 2 * sine2;
      const inverseL2 = (cosTwoTheta * cosTwoTheta) / l2;
      const lever = 1 / length + inverseL2;
      const geometric = source + sample * lever * lever + pixel * inverseL2 * inverseL2;
      return k * k * (1 - sine2) * geometric + q * wavelength * (q * wavelength);
    },
  });
}
