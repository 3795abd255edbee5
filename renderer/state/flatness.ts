import type { Profile } from "../../core/model/curve.ts";

/** How far a profile is from a constant, judged by its counting uncertainties alone. */
export interface Flatness {
  /** Sum of ((I - mean) / sigma)^2 over (bins - 1), mean weighted by 1/sigma^2; about 1 for a flat profile. */
  readonly reducedChi2: number;
  readonly bins: number;
  /** phi of the highest and the lowest bin, rad. */
  readonly highest: number;
  readonly lowest: number;
  /** Highest over lowest; undefined where the lowest isn't above 0. */
  readonly ratio: number | undefined;
}

/** Undefined for fewer than two bins. */
export function flatness({ intensity, sigma, phi }: Profile): Flatness | undefined {
  const bins = intensity.length;
  if (bins < 2) return undefined;
  let weights = 0;
  let weighted = 0;
  let high = 0;
  let low = 0;
  intensity.forEach((value, i) => {
    const weight = 1 / (at(sigma, i) * at(sigma, i));
    weights += weight;
    weighted += weight * value;
    if (value > at(intensity, high)) high = i;
    if (value < at(intensity, low)) low = i;
  });
  const mean = weighted / weights;
  const chi2 = intensity.reduce((sum, value, i) => sum + ((value - mean) / at(sigma, i)) ** 2, 0);
  const lowest = at(intensity, low);
  return {
    reducedChi2: chi2 / (bins - 1),
    bins,
    highest: at(phi, high),
    lowest: at(phi, low),
    ratio: lowest > 0 ? at(intensity, high) / lowest : undefined,
  };
}

function at(column: Float64Array, i: number): number {
  return column[i] ?? Number.NaN;
}
