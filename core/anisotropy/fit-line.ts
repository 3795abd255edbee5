import { cos, sin } from "../model/steady-math.ts";
import type { AnnulusAnisotropy } from "./analyse.ts";
import { harmonicShape } from "./harmonic-fit.ts";

/** Points of the line of a fit, one a degree. */
const LINE_POINTS = 361;

/** Intensity of an annulus's fit against azimuth: phi in rad, 0 to 2 pi. */
export function fitLine({
  measures,
}: AnnulusAnisotropy): { readonly phi: Float64Array; readonly intensity: Float64Array } | undefined {
  if (measures === undefined) return undefined;
  const { fit } = measures;
  const phi = Float64Array.from({ length: LINE_POINTS }, (_, k) => (2 * Math.PI * k) / (LINE_POINTS - 1));
  return { phi, intensity: phi.map((angle) => fit.mean.value * harmonicShape(fit, cos(angle), sin(angle))) };
}
