/**
 * What a log-likelihood is made of at some parameters: Gaussian priors add their slopes to `gradient` (n entries) and
 * their inverse variances to the lower triangle of `information` (n x n, row by row).
 */
export interface PriorSums {
  readonly parameters: Float64Array;
  readonly gradient: Float64Array;
  readonly information: Float64Array;
}

/** Ties one parameter to a target; returns the prior's logarithm, 0 at the target. */
export function pull(
  { index, target, sigma }: { index: number; target: number; sigma: number },
  { parameters, gradient, information }: PriorSums,
): number {
  const away = (parameters[index]! - target) / sigma;
  gradient[index]! -= away / sigma;
  information[index * parameters.length + index]! += 1 / (sigma * sigma);
  return -0.5 * away * away;
}

/** Ties the second differences of `count` neighbouring parameters to 0; returns the prior's logarithm. */
export function smooth(
  { base, count, sigma }: { base: number; count: number; sigma: number },
  { parameters, gradient, information }: PriorSums,
): number {
  const w = 1 / (sigma * sigma);
  const weights = [1, -2, 1];
  let value = 0;
  for (let k = base; k + 2 < base + count; k++) {
    const bend = parameters[k]! - 2 * parameters[k + 1]! + parameters[k + 2]!;
    value -= 0.5 * w * bend * bend;
    for (let a = 0; a < 3; a++) {
      gradient[k + a]! -= w * bend * weights[a]!;
      for (let b = 0; b <= a; b++) information[(k + a) * parameters.length + k + b]! += w * weights[a]! * weights[b]!;
    }
  }
  return value;
}
