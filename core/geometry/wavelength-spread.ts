import { ln } from "../model/steady-math.ts";
import { timeOfFlight } from "./constants.ts";

/** Shape of the wavelength distribution; its width is given as full width at half maximum over the mean. */
export type WavelengthLaw = "triangular" | "gaussian" | "rectangular";

/** Full width at half maximum of a Gaussian over its standard deviation: 2 sqrt(2 ln 2), 2.3548. */
export const GAUSSIAN_FULL_WIDTH = 2 * Math.sqrt(2 * ln(2));

/** Standard deviation of the wavelength over its mean. A velocity selector is taken as triangular. */
export function relativeWavelengthSigma(spread: number, law: WavelengthLaw = "triangular"): number {
  if (law === "triangular") return spread / Math.sqrt(6);
  if (law === "rectangular") return spread / Math.sqrt(12);
  return spread / GAUSSIAN_FULL_WIDTH;
}

/** What blurs a wavelength that is told by the time of flight. */
export interface FlightTiming {
  /** Source to pixel, m; > 0. */
  readonly path: number;
  /** Standard deviation of the path, m. */
  readonly pathSigma?: number | undefined;
  /** Standard deviation of the time at which neutrons leave the source, s. */
  readonly emissionSigma: number;
  /** Full width of the wavelength channel over the wavelength. */
  readonly channelWidth?: number | undefined;
}

/**
 * Standard deviation of a wavelength by time of flight, over the wavelength: emission time, channel and path in
 * quadrature, sigma_l^2 = (h sigma_t/(m L))^2 + (width/sqrt 12)^2 + (lambda sigma_L/L)^2. Source: lambda = h t/(m L),
 * propagated; a channel is a rectangle.
 * @param wavelength angstrom; > 0
 */
export function timedWavelengthSigma(
  wavelength: number,
  { path, pathSigma = 0, emissionSigma, channelWidth = 0 }: FlightTiming,
): number {
  const emission = emissionSigma / timeOfFlight(wavelength, path);
  const ofPath = pathSigma / path;
  return Math.sqrt(emission * emission + (channelWidth * channelWidth) / 12 + ofPath * ofPath);
}
