import type { Estimate, Term } from "../../../core/model/estimate.ts";
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

/** One raw frame as an estimate: Poisson counts, norm 1 unless given, nothing masked unless given. */
export function rawEstimate(
  counts: Float64Array,
  { width, height, ...changes }: Pick<Geometry, "width" | "height"> & Partial<Estimate>,
): Estimate {
  return {
    width,
    height,
    mask: new Uint16Array(counts.length),
    terms: [term("sample", counts, 1)],
    norm: new Float64Array(counts.length).fill(1),
    common: [],
    background: 0,
    ...changes,
  };
}

export function term(role: string, counts: Float64Array, coefficient: number): Term {
  return {
    role,
    counts,
    value: counts,
    variance: counts,
    coefficient: new Float64Array(counts.length).fill(coefficient),
  };
}
