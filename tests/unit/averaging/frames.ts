import type { Term } from "../../../core/model/estimate.ts";
import type { Geometry } from "../../../core/model/geometry.ts";

/** A small valid bank; each test changes what it is about. */
export function someGeometry(changes: Partial<Geometry> = {}): Geometry {
  return {
    width: 32,
    height: 24,
    pixelSizeX: 0.005,
    pixelSizeY: 0.005,
    distance: 2,
    wavelength: 6,
    beamCentre: { x: 15.3, y: 11.6 },
    rowOrder: "bottom-up",
    transpose: false,
    tilt: [0, 0],
    ...changes,
  };
}

/** A frame of Poisson counts that enters the signal with one coefficient. */
export function someTerm(role: string, counts: Float64Array, coefficient: number): Term {
  return {
    role,
    counts,
    value: counts,
    variance: counts,
    coefficient: new Float64Array(counts.length).fill(coefficient),
  };
}
