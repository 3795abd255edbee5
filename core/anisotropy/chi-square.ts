import lowerGamma from "@stdlib/math-base-special-gammainc";

/** A statistic that follows chi-square where its hypothesis holds, and the chance that it is as large by counting alone. */
export interface ChiSquareTest {
  readonly chi2: number;
  readonly degreesOfFreedom: number;
  readonly p: number;
}

export function chiSquareTest(chi2: number, degreesOfFreedom: number): ChiSquareTest {
  return { chi2, degreesOfFreedom, p: upperTail(chi2, degreesOfFreedom) };
}

/** P(chi-square with `degrees` degrees of freedom >= value). */
export function upperTail(value: number, degrees: number): number {
  return lowerGamma(Math.max(0, value) / 2, degrees / 2, true, true);
}
