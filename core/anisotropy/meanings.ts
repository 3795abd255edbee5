/** A measure, and the condition under which it means something for the sample. */
export interface Meaning {
  readonly name: string;
  readonly condition: string;
}

/** By the keys of the measures' JSON. Definitions and sources stand where the measures are made. */
export const MEANINGS = {
  alignment: {
    name: "Alignment factor",
    condition: "A property of the pattern: it needs no model, and is 0 for isotropic and below 1 for any scattering.",
  },
  p2: {
    name: "P2 of the intensity",
    condition:
      "For samples uniaxial about an axis that lies in the detector plane; taken about the strongest direction.",
  },
  p2Rods: {
    name: "P2 of thin rods",
    condition: "For long thin rods that scatter only across themselves, at Q well above 1/length and below 1/radius.",
  },
  maierSaupeRods: {
    name: "Maier-Saupe m of the rods",
    condition: "As P2 of thin rods, if their directions follow exp(m cos²β) about the director.",
  },
  maierSaupePattern: {
    name: "m of the pattern",
    condition: "If the pattern itself follows exp(m cos²φ); says nothing of the particles by itself.",
  },
  direction: {
    name: "Weakest direction (°)",
    condition: "Of the fit A + B sin²: the field's, for a sample magnetised to saturation in the detector plane.",
  },
  a: {
    name: "A of A + B sin²",
    condition: "For a sample magnetised to saturation, field in the detector plane: A is the nuclear part.",
  },
  b: {
    name: "B of A + B sin²",
    condition: "As A: B is the magnetic part. Not for domains, or spins that are out of line.",
  },
} as const satisfies Readonly<Record<string, Meaning>>;
