import type { Curve, Profile } from "../model/curve.ts";

/** Standard deviations of chi-square above which chance is no explanation, even once in a thousand bins. */
const SIGMAS = 6;
/** With fewer pixels the law of chi-square is too skew for a limit in sigmas. */
const LEAST_PIXELS = 10;

/**
 * One sentence where pixels of a bin differ by more than counting explains: a pattern that is not isotropic, bad pixels,
 * a wrong centre, or bins that are too wide. The reduced chi-square of n pixels with a mean of mu counts scatters by
 * sqrt((2 + 1/mu) / (n - 1)) about 1 (Pearson's statistic for Poisson counts).
 *
 * None for an annulus: a bin of it holds pixels of all Q between its edges, whose intensities differ by what the
 * intensity falls with Q: its scatter says nothing about the detector or the direction.
 */
export function scatterWarnings({ id, kind, chi2, pixels, counts }: Curve | Profile): readonly string[] {
  if (kind === "annulus") return [];
  let bins = 0;
  let worst = 0;
  for (let b = 0; b < chi2.length; b++) {
    const n = pixels[b]!;
    if (n < LEAST_PIXELS || !(counts[b]! > 0)) continue;
    const spread = Math.sqrt((2 + n / counts[b]!) / (n - 1));
    if (!(chi2[b]! > 1 + SIGMAS * spread)) continue;
    bins++;
    if (chi2[b]! > worst) worst = chi2[b]!;
  }
  if (bins === 0) return [];
  const ratio = Math.sqrt(worst).toPrecision(3);
  return [
    `${id}: in ${bins} of ${chi2.length} bins the pixels scatter up to ${ratio} times as much as counting explains: anisotropy, bad pixels, a wrong centre or wide bins`,
  ];
}
