import fc from "fast-check";
import type { Geometry } from "../../../core/model/geometry.ts";

/** Banks of every orientation; tilts up to 0.3 rad, or none. */
export function anyGeometry(tilted: boolean): fc.Arbitrary<Geometry> {
  const real = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
  return fc.record({
    width: fc.integer({ min: 1, max: 24 }),
    height: fc.integer({ min: 1, max: 24 }),
    pixelSizeX: real(0.002, 0.01),
    pixelSizeY: real(0.002, 0.01),
    distance: real(0.5, 20),
    wavelength: real(1, 20),
    beamCentre: fc.record({ x: real(-5, 30), y: real(-5, 30) }),
    rowOrder: fc.constantFrom("bottom-up" as const, "top-down" as const),
    transpose: fc.boolean(),
    tilt: tilted
      ? fc.tuple(real(-0.3, 0.3), real(-0.3, 0.3))
      : fc.constant([0, 0] as const satisfies readonly [number, number]),
  });
}
