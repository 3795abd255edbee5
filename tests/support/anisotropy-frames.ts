import type { AnisotropyGround } from "../../core/anisotropy/ground.ts";
import { azimuthMap, qMap } from "../../core/geometry/maps.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import { rawEstimate } from "./estimate-builder.ts";

const SIZE = 96;

/** A bank of 96 x 96 pixels, its maps about a centre, and frames drawn on it. */
export class FlatBank {
  readonly geometry: Geometry;
  readonly q: Float64Array;
  readonly phi: Float64Array;

  constructor(beamCentre: { readonly x: number; readonly y: number }) {
    this.geometry = {
      width: SIZE,
      height: SIZE,
      rowOrder: "bottom-up",
      transpose: false,
      pixelSizeX: 0.005,
      pixelSizeY: 0.005,
      distance: 2,
      wavelength: 6,
      beamCentre,
      tilt: [0, 0],
    };
    this.q = qMap(this.geometry);
    this.phi = azimuthMap(this.geometry);
  }

  /** Expected counts for a pattern, scaled to `total` over the bank. */
  frame(total: number, pattern: (phi: number, q: number) => number): Float64Array {
    const values = this.q.map((q, p) => pattern(this.phi[p]!, q));
    const scale = total / values.reduce((sum, value) => sum + value, 0);
    return values.map((value) => value * scale);
  }

  ground(counts: Float64Array, mask?: Uint16Array): AnisotropyGround {
    return {
      estimate: rawEstimate(SIZE, SIZE, counts, undefined, mask),
      geometry: this.geometry,
      maps: { q: this.q, phi: this.phi },
    };
  }
}

/** Masks a third of the angles, on one side: from 0.4 rad on. */
export function third(bank: FlatBank): Uint16Array {
  return Uint16Array.from(bank.phi, (phi) => (phi > 0.4 && phi < 0.4 + (2 * Math.PI) / 3 ? 64 : 0));
}
