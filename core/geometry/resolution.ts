import type { Collimation, Geometry } from "../model/geometry.ts";
import { failure, type Result, success } from "../model/result.ts";
import { waveNumber } from "./constants.ts";
import { fullWidths } from "./full-widths.ts";
import { GAUSSIAN_FULL_WIDTH, relativeWavelengthSigma, type WavelengthLaw } from "./wavelength-spread.ts";

/** Q resolution of a camera, as a function of Q; everything is a standard deviation or its square. */
export interface QResolution {
  /** Variance of Q at a pixel, 1/angstrom^2: apertures, pixel and wavelength; without the width of a bin. */
  variance(q: number): number;
  readonly relativeWavelengthSigma: number;
  /** What is added along the vertical alone (gravity), 1/angstrom^2; absent: nothing. */
  readonly verticalVariance?: number;
}

/** How the widths of apertures, pixel and wavelength are joined; the two differ by some 10 % and are never mixed. */
export type ResolutionMethod = "second-moments" | "full-widths";

export interface ResolutionOptions {
  readonly method?: ResolutionMethod | undefined;
  readonly law?: WavelengthLaw | undefined;
  /** Standard deviation of the wavelength over its mean, where it is not by the spread (time of flight). */
  readonly wavelengthSigma?: number | undefined;
  /** "small-angle" sets both cosines to 1, as most published formulas do. */
  readonly form?: "wide-angle" | "small-angle";
}

/**
 * Second moments of a pinhole camera (Mildner & Carpenter 1984, J. Appl. Cryst. 17, 249): sigma_Q^2 =
 * k^2 cos^2(theta) [(R1/2 L1)^2 + (R2/2)^2 (1/L1 + cos^2(2 theta)/L2)^2 + (p^2/12) (cos^2(2 theta)/L2)^2] + Q^2 (sigma_l/l)^2.
 * Or full widths at half maximum over 2.3548 (`fullWidths`). Pixels that aren't square count with the mean of the squares
 * of their sides; a tilt of the bank is not considered.
 * @returns a fault of code "missing" that names what isn't known
 */
export function qResolution(
  geometry: Geometry,
  collimation: Collimation,
  { method = "second-moments", law = "triangular", form = "wide-angle", wavelengthSigma }: ResolutionOptions = {},
): Result<QResolution> {
  const { sourceAperture, sampleAperture, length, wavelengthSpread = wavelengthSigma } = collimation;
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
  const square = (geometry.pixelSizeX * geometry.pixelSizeX + geometry.pixelSizeY * geometry.pixelSizeY) / 2;
  const ofLaw = relativeWavelengthSigma(wavelengthSpread, method === "full-widths" ? "gaussian" : law);
  const wavelength = wavelengthSigma ?? ofLaw;
  const angular = (method === "full-widths" ? fullWidthVariance : secondMoments)(
    { source: sourceAperture / 2, sample: sampleAperture / 2, length },
    square,
  );
  return success({
    relativeWavelengthSigma: wavelength,
    variance(q) {
      const sine = form === "wide-angle" ? q / (2 * k) : 0;
      const sine2 = sine * sine;
      const cosTwoTheta = 1 - 2 * sine2;
      const inverseL2 = (cosTwoTheta * cosTwoTheta) / geometry.distance;
      return k * k * (1 - sine2) * angular(inverseL2) + q * wavelength * (q * wavelength);
    },
  });
}

/** Radii and length of the collimation, m. */
interface Pinholes {
  readonly source: number;
  readonly sample: number;
  readonly length: number;
}

/** Per axis a uniform disc of radius R has variance R^2/4, a side p has p^2/12. */
function secondMoments({ source, sample, length }: Pinholes, square: number): (inverseL2: number) => number {
  const ofSource = (source / (2 * length)) * (source / (2 * length));
  return (inverseL2) => {
    const lever = 1 / length + inverseL2;
    return ofSource + ((sample * sample) / 4) * lever * lever + (square / 12) * inverseL2 * inverseL2;
  };
}

function fullWidthVariance(pinholes: Pinholes, square: number): (inverseL2: number) => number {
  return (inverseL2) => {
    const width = fullWidths(pinholes, 1 / inverseL2);
    return (width * width + square * inverseL2 * inverseL2) / (GAUSSIAN_FULL_WIDTH * GAUSSIAN_FULL_WIDTH);
  };
}
