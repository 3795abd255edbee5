import type { Estimate } from "../model/estimate.ts";

/**
 * Intensity and sigma of every pixel: the estimator of a bin with one pixel in it. A frame that counted nothing in a
 * pixel enters with the variance of one count. Masked pixels are NaN.
 */
export function intensityMaps(estimate: Estimate): { readonly intensity: Float64Array; readonly sigma: Float64Array } {
  const { mask, norm, terms, background, normRelativeVariance } = estimate;
  const intensity = new Float64Array(mask.length);
  const sigma = new Float64Array(mask.length);
  for (const { counts, value, variance, coefficient } of terms)
    for (let p = 0; p < mask.length; p++) {
      const a = coefficient[p]!;
      intensity[p]! += a * value[p]!;
      sigma[p]! += a * a * (counts[p] === 0 && variance[p] === 0 ? 1 : variance[p]!);
    }
  for (let p = 0; p < mask.length; p++) {
    if (mask[p] !== 0 || !(norm[p]! > 0)) {
      intensity[p] = Number.NaN;
      sigma[p] = Number.NaN;
      continue;
    }
    const raw = intensity[p]! / norm[p]!;
    const ofNorm = normRelativeVariance === undefined ? 0 : raw * raw * normRelativeVariance[p]!;
    intensity[p] = raw - background;
    sigma[p] = Math.sqrt(sigma[p]! / (norm[p]! * norm[p]!) + ofNorm);
  }
  return { intensity, sigma };
}
