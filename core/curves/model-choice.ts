import { chainFormFactor } from "./chain.ts";
import { isotropicRodFormFactor } from "./rod.ts";
import { type CoreShellModel, coreShellIntensity, type SphereModel, sphereIntensity } from "./sphere.ts";

/** 1/angstrom of intensity to 1/cm. */
const PER_CM = 1e8;
/** Directions over which a rod is averaged: enough for Q L up to some hundred. */
const ROD_STEPS = 600;

/** A model curve to lay over a measured one. Lengths in angstrom, contrasts in 1/angstrom^2, background in 1/cm. */
export type ModelChoice = { readonly background: number } & (
  | ({ readonly kind: "spheres" } & Required<SphereModel>)
  | ({ readonly kind: "core-shell" } & CoreShellModel)
  | { readonly kind: "chain"; readonly rg: number; readonly forwardIntensity: number }
  | {
      readonly kind: "rods";
      readonly length: number;
      readonly radius: number;
      readonly volumeFraction: number;
      readonly contrast: number;
    }
);

/** Intensity of a model, 1/cm, not smeared. @param q 1/angstrom, >= 0 */
export function modelIntensity(q: number, model: ModelChoice): number {
  return shapeIntensity(q, model) + model.background;
}

function shapeIntensity(q: number, model: ModelChoice): number {
  switch (model.kind) {
    case "spheres":
      return sphereIntensity(q, model);
    case "core-shell":
      return coreShellIntensity(q, model);
    case "chain":
      return model.forwardIntensity * chainFormFactor(q * model.rg * (q * model.rg));
    case "rods": {
      const { length, radius, volumeFraction, contrast } = model;
      const volume = Math.PI * radius * radius * length;
      return (
        volumeFraction *
        contrast *
        contrast *
        volume *
        PER_CM *
        isotropicRodFormFactor(q, { length, radius }, ROD_STEPS)
      );
    }
  }
}
