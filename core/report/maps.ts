import { azimuthDegrees } from "../model/numbers.ts";
import type { Reduction } from "../plan/reduction.ts";
import { npyBytes } from "./npy.ts";
import type { OutputFile } from "./output-file.ts";

/** The maps of a reduction in the frame's stored order; phi in degrees, because a file shows it. */
export function mapFiles({ frame, maps }: Reduction): OutputFile[] {
  const file = (name: string, values: Float64Array | Uint16Array): OutputFile => ({
    path: `maps/${name}.npy`,
    bytes: npyBytes(values, frame),
  });
  return [
    file("intensity", maps.intensity),
    file("sigma", maps.sigma),
    file("q", maps.q),
    file("phi", maps.phi.map(azimuthDegrees)),
    file("mask", maps.mask),
  ];
}
