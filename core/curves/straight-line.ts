import { failure, type Result, success } from "../model/result.ts";

export interface StraightLine {
  readonly slope: number;
  readonly slopeSigma: number;
  readonly intercept: number;
  readonly interceptSigma: number;
  readonly covariance: number;
  readonly chi2: number;
  /** Points less parameters. */
  readonly degreesOfFreedom: number;
}

/**
 * Weighted straight line y = intercept + slope x. Uncertainties come from the weights alone, as standard deviations
 * when each weight is 1/sigma^2.
 *
 * @param weights same length as x and y; all > 0
 */
export function fitStraightLine(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weights: ArrayLike<number>,
): Result<StraightLine> {
  if (x.length !== y.length || x.length !== weights.length)
    throw new RangeError(`lengths differ: ${x.length}, ${y.length}, ${weights.length}`);
  if (x.length < 3)
    return failure("out-of-range", `a straight line needs at least 3 points; the range holds ${x.length}`);
  // About the weighted mean of x, so that the sums don't cancel.
  let [s, sx, sy] = [0, 0, 0];
  for (let i = 0; i < x.length; i++) {
    const w = weights[i]!;
    s += w;
    sx += w * x[i]!;
    sy += w * y[i]!;
  }
  const [meanX, meanY] = [sx / s, sy / s];
  let [sxx, sxy] = [0, 0];
  for (let i = 0; i < x.length; i++) {
    const dx = x[i]! - meanX;
    sxx += weights[i]! * dx * dx;
    sxy += weights[i]! * dx * (y[i]! - meanY);
  }
  if (!(sxx > 0)) return failure("out-of-range", "all points of the range stand at the same place");
  const slope = sxy / sxx;
  let chi2 = 0;
  for (let i = 0; i < x.length; i++) {
    const residual = y[i]! - meanY - slope * (x[i]! - meanX);
    chi2 += weights[i]! * residual * residual;
  }
  return success({
    slope,
    slopeSigma: Math.sqrt(1 / sxx),
    intercept: meanY - slope * meanX,
    interceptSigma: Math.sqrt(1 / s + (meanX * meanX) / sxx),
    covariance: -meanX / sxx,
    chi2,
    degreesOfFreedom: x.length - 2,
  });
}
