import type { ModelChoice } from "../../core/curves/model-choice.ts";

export type ModelKind = ModelChoice["kind"];

export interface ModelField {
  /** Of the model. */
  readonly key: string;
  readonly label: string;
  readonly unit?: string;
  /** Of the field's unit in the model's. */
  readonly scale: number;
  readonly allows: (value: number) => boolean;
}

const above = (value: number) => value > 0;
const notBelow = (value: number) => value >= 0;
const any = () => true;
const fraction = (value: number) => value > 0 && value <= 1;

/** Scattering length densities are spoken of in millionths of 1/angstrom^2. */
const DENSITY = { unit: "10⁻⁶/Å²", scale: 1e-6, allows: any };
const LENGTH = { unit: "Å", scale: 1, allows: above };
const VOLUME: ModelField = { key: "volumeFraction", label: "Volume", unit: "of 1", scale: 1, allows: fraction };
const CONTRAST: ModelField = { key: "contrast", label: "Contrast", ...DENSITY };
const BACKGROUND: ModelField = { key: "background", label: "Constant", unit: "1/cm", scale: 1, allows: any };

export const MODEL_FIELDS: Readonly<Record<ModelKind, readonly ModelField[]>> = {
  spheres: [
    { key: "radius", label: "Radius", ...LENGTH },
    { key: "sigmaLnR", label: "Width ln R", scale: 1, allows: (value) => value >= 0 && value <= 1 },
    VOLUME,
    CONTRAST,
    BACKGROUND,
  ],
  "core-shell": [
    { key: "coreRadius", label: "Core", ...LENGTH },
    { key: "shellThickness", label: "Shell", ...LENGTH, allows: notBelow },
    VOLUME,
    { key: "core", label: "Core ρ", ...DENSITY },
    { key: "shell", label: "Shell ρ", ...DENSITY },
    { key: "medium", label: "Medium ρ", ...DENSITY },
    BACKGROUND,
  ],
  chain: [
    { key: "rg", label: "Rg", ...LENGTH },
    { key: "forwardIntensity", label: "I(0)", unit: "1/cm", scale: 1, allows: above },
    BACKGROUND,
  ],
  rods: [
    { key: "length", label: "Length", ...LENGTH },
    { key: "radius", label: "Radius", ...LENGTH },
    VOLUME,
    CONTRAST,
    BACKGROUND,
  ],
};

/** What a model begins with: a per cent of silica or of a polymer in heavy water. */
export const STARTING_MODELS: { readonly [K in ModelKind]: Extract<ModelChoice, { readonly kind: K }> } = {
  spheres: { kind: "spheres", radius: 60, sigmaLnR: 0.1, volumeFraction: 0.01, contrast: 2.9e-6, background: 0 },
  "core-shell": {
    kind: "core-shell",
    ...{ coreRadius: 40, shellThickness: 15, volumeFraction: 0.01 },
    ...{ core: 3.5e-6, shell: 1e-6, medium: 6.4e-6, background: 0 },
  },
  chain: { kind: "chain", rg: 50, forwardIntensity: 5, background: 0 },
  rods: { kind: "rods", length: 600, radius: 25, volumeFraction: 0.005, contrast: 4.5e-6, background: 0 },
};
