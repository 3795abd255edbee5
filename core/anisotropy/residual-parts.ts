import { type AnisotropyGround, qStepOfPixel } from "./ground.ts";
import { mirrorParts } from "./mirror-parts.ts";
import { residualFrame } from "./residual-frame.ts";

/** What of the residual frame is shown. Each in standard deviations of its own; NaN: masked, or without mirror image. */
export const RESIDUAL_PARTS = ["whole", "even", "odd"] as const;
export type ResidualPart = (typeof RESIDUAL_PARTS)[number];

/**
 * The frame minus its radial average, in sigmas: whole, or the part that a half turn about the beam keeps (anisotropy) or
 * turns around (a wrong centre, leaks, uneven detectors).
 */
export function residualParts(ground: AnisotropyGround): Readonly<Record<ResidualPart, Float64Array>> {
  const whole = residualFrame(ground.estimate, ground.maps.q, qStepOfPixel(ground.geometry));
  const { even, evenSigma, odd, oddSigma } = mirrorParts(
    whole,
    new Float64Array(whole.length).fill(1),
    ground.geometry,
  );
  return {
    whole,
    even: even.map((value, p) => value / evenSigma[p]!),
    odd: odd.map((value, p) => value / oddSigma[p]!),
  };
}
