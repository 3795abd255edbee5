import type { Orientation } from "./frame.ts";

/**
 * A flat bank of equal pixels, and the beam. Lengths in m, wavelength in angstrom, angles in rad.
 *
 * The beam centre (array coordinates) lies at (0, 0, distance) in the lab frame: z along the beam, x to the
 * right and y up for someone looking from the detector to the source. `tilt` turns the bank about lab x, then lab y,
 * through that point.
 */
export interface Geometry extends Orientation {
  readonly width: number;
  readonly height: number;
  /** Pitch along array x (columns) and array y (rows). */
  readonly pixelSizeX: number;
  readonly pixelSizeY: number;
  readonly distance: number;
  readonly wavelength: number;
  readonly beamCentre: { readonly x: number; readonly y: number };
  readonly tilt: readonly [number, number];
}

/** What the Q resolution needs besides the geometry. Diameters and lengths in m; anything may be unknown. */
export interface Collimation {
  readonly sourceAperture?: number;
  readonly sampleAperture?: number;
  readonly length?: number;
  /** Full width at half maximum over mean. */
  readonly wavelengthSpread?: number;
}
