import type { Estimate } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";

/** What is analysed: a reduced frame and its maps (Q in 1/angstrom, phi in rad). */
export interface AnisotropyGround {
  readonly estimate: Estimate;
  readonly geometry: Geometry;
  readonly maps: { readonly q: Float64Array; readonly phi: Float64Array };
}

/** Q from one pixel to the next near the beam, 1/angstrom. */
export function qStepOfPixel({ pixelSizeX, pixelSizeY, distance, wavelength }: Geometry): number {
  return (2 * Math.PI * Math.min(pixelSizeX, pixelSizeY)) / (distance * wavelength);
}
