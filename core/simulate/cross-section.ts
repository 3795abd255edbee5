import { alignmentWeights, weightedRodFormFactor } from "../curves/rod.ts";
import { sphereIntensity } from "../curves/sphere.ts";
import type { SceneSample } from "./scene.ts";

/** Scattering per volume, 1/cm, at (Qx, Qy) in 1/angstrom. */
export type CrossSection = (qx: number, qy: number) => number;

const PER_CM = 1e8;
/** Nodes of the table over Q; between them the cross-section is interpolated linearly. */
const Q_NODES = 2048;
const ROD_Q_NODES = 256;
const ROD_ANGLES = 90;

export interface TabulatedSection {
  readonly at: CrossSection;
  /** True where it depends on |Q| alone. */
  readonly isRadial: boolean;
}

/** The cross-section of a sample without instrument, tabulated up to `qMax` (1/angstrom). */
export function sampleCrossSection(sample: SceneSample, qMax: number): TabulatedSection {
  const { model } = sample;
  if (model.kind === "spheres") {
    const spheres = {
      radius: model.radius_A,
      sigmaLnR: model.sigmaLnR,
      volumeFraction: model.volumeFraction,
      contrast: model.contrast_1A2,
    };
    return { at: radialTable((q) => sphereIntensity(q, spheres) + model.background_1cm, qMax), isRadial: true };
  }
  const rod = { length: model.length_A, radius: model.radius_A };
  const volume = Math.PI * rod.radius * rod.radius * rod.length;
  const scale = model.volumeFraction * volume * model.contrast_1A2 * model.contrast_1A2 * PER_CM;
  const director = (model.director_deg * Math.PI) / 180;
  // Rows: angle between Q and the director, 0 to 90 deg; columns: Q.
  const table = new Float64Array((ROD_ANGLES + 1) * (ROD_Q_NODES + 1));
  for (let a = 0; a <= ROD_ANGLES; a++) {
    const weights = alignmentWeights(Math.cos((a * Math.PI) / (2 * ROD_ANGLES)), model.alignmentStrength, 600);
    for (let i = 0; i <= ROD_Q_NODES; i++)
      table[a * (ROD_Q_NODES + 1) + i] = scale * weightedRodFormFactor((i * qMax) / ROD_Q_NODES, rod, weights);
  }
  const at: CrossSection = (qx, qy) => {
    const q = Math.hypot(qx, qy);
    const turned = Math.atan2(qy, qx) - director;
    const psi = Math.acos(Math.min(1, Math.abs(Math.cos(turned))));
    return bilinear(table, (psi * 2 * ROD_ANGLES) / Math.PI, (q * ROD_Q_NODES) / qMax) + model.background_1cm;
  };
  return { at, isRadial: false };
}

export function radialTable(intensity: (q: number) => number, qMax: number): CrossSection {
  const table = new Float64Array(Q_NODES + 1);
  for (let i = 0; i <= Q_NODES; i++) table[i] = intensity((i * qMax) / Q_NODES);
  return (qx, qy) => {
    const at = Math.min(Q_NODES - 1e-9, (Math.hypot(qx, qy) * Q_NODES) / qMax);
    const i = Math.floor(at);
    return table[i]! + (at - i) * (table[i + 1]! - table[i]!);
  };
}

function bilinear(table: Float64Array, row: number, column: number): number {
  const r = Math.min(ROD_ANGLES - 1e-9, row);
  const c = Math.min(ROD_Q_NODES - 1e-9, column);
  const [i, j] = [Math.floor(r), Math.floor(c)];
  const [dr, dc] = [r - i, c - j];
  const at = i * (ROD_Q_NODES + 1) + j;
  const low = table[at]! * (1 - dc) + table[at + 1]! * dc;
  const high = table[at + ROD_Q_NODES + 1]! * (1 - dc) + table[at + ROD_Q_NODES + 2]! * dc;
  return low * (1 - dr) + high * dr;
}

/**
 * The same cross-section as the instrument sees it, before pixels: averaged over a Gaussian of the two apertures' widths
 * in Qx and Qy, and over the triangular wavelength law, which stretches Q.
 *
 * Nodes: three-point Gauss-Hermite in each direction, five points of the triangle. The law is narrow against the
 * features that the samples have, so that moments up to the fifth are enough.
 *
 * @param qSigma           1/angstrom, standard deviation in each direction
 * @param wavelengthSpread full width at half maximum over mean
 */
export function smeared(section: CrossSection, qSigma: number, wavelengthSpread: number): CrossSection {
  const shifts = [-Math.sqrt(3) * qSigma, 0, Math.sqrt(3) * qSigma];
  const weights = [1 / 6, 2 / 3, 1 / 6];
  const stretches = [-2 / 3, -1 / 3, 0, 1 / 3, 2 / 3].map((t) => t * wavelengthSpread * 1.5);
  const lawSum = stretches.reduce((sum, s) => sum + triangle(s, wavelengthSpread), 0);
  return (qx, qy) => {
    let sum = 0;
    for (const stretch of stretches) {
      const law = triangle(stretch, wavelengthSpread) / lawSum;
      if (law === 0) continue;
      const scale = 1 / (1 + stretch);
      for (let i = 0; i < 3; i++)
        for (let j = 0; j < 3; j++)
          sum += law * weights[i]! * weights[j]! * section(qx * scale + shifts[i]!, qy * scale + shifts[j]!);
    }
    return sum;
  };
}

/** Triangular law of full width at half maximum `spread`, not normalised; a spread of 0 is a single line. */
function triangle(x: number, spread: number): number {
  if (spread === 0) return x === 0 ? 1 : 0;
  return Math.max(0, 1 - Math.abs(x) / spread);
}
