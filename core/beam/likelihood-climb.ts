import { CholeskyDecomposition, Matrix } from "ml-matrix";

/** A log-likelihood (or posterior) with its gradient and expected information, filled at the parameters asked for. */
export interface Likelihood {
  readonly size: number;
  /** Fills `gradient` (size) and the lower triangle of `information` (size * size, row-major); returns the value. */
  evaluate(parameters: Float64Array, gradient: Float64Array, information: Float64Array): number;
  /** Bounds, one a parameter; infinite where there is none. */
  readonly lowest: Float64Array;
  readonly highest: Float64Array;
}

export interface Climb {
  readonly parameters: Float64Array;
  readonly value: number;
  /** Inverse information at the maximum, size * size. */
  readonly covariance: Float64Array;
  readonly converged: boolean;
  /** The last step up: where nuisance parameters still creep, it shows whether those of interest have settled. */
  readonly lastStep: Float64Array;
}

// A gain of 1e-4 in the log-likelihood moves a parameter by 0.014 of its sigma.
const ENOUGH = 1e-4;
/** Where the steps run out, a last gain below this leaves the answer within a seventh of a sigma: good enough. */
const TOLERABLE = 1e-2;
const FIRST_DAMPING = 1e-3;
const LARGEST_DAMPING = 1e6;
// Unequal, so that a damping that is just too small is not met again after every step.
const RELAX = 4;
const TIGHTEN = 6;

/**
 * Maximises by damped Fisher scoring (Levenberg-Marquardt damping on the diagonal of the information).
 *
 * @param mostTrials how often the likelihood may be evaluated
 */
export function climb(likelihood: Likelihood, start: Float64Array, mostTrials = 40): Climb {
  const n = likelihood.size;
  let here = start.slice();
  confine(likelihood, here);
  let gradient = new Float64Array(n);
  let information = new Float64Array(n * n);
  let trialGradient = new Float64Array(n);
  let trialInformation = new Float64Array(n * n);
  let value = likelihood.evaluate(here, gradient, information);
  let damping = FIRST_DAMPING;
  const lastStep = new Float64Array(n);
  let lastGain = Number.POSITIVE_INFINITY;
  for (let trials = 0; trials < mostTrials && lastGain >= ENOUGH; trials++) {
    const move = solveDamped(information, gradient, damping, stuckAtBounds(likelihood, here, gradient));
    if (move === undefined) {
      damping *= 10;
      continue;
    }
    const there = here.slice();
    for (let i = 0; i < n; i++) there[i]! += move[i]!;
    confine(likelihood, there);
    const trial = likelihood.evaluate(there, trialGradient, trialInformation);
    if (trial >= value) {
      lastGain = trial - value;
      for (let i = 0; i < n; i++) lastStep[i] = there[i]! - here[i]!;
      here = there;
      value = trial;
      [gradient, trialGradient] = [trialGradient, gradient];
      [information, trialInformation] = [trialInformation, information];
      damping = Math.max(damping / RELAX, 1e-12);
    } else if (damping < LARGEST_DAMPING) damping *= TIGHTEN;
    // No uphill step however short: a maximum, as far as rounding lets one tell.
    else lastGain = 0;
  }
  const covariance = inverse(information, n);
  return { parameters: here, value, covariance, converged: lastGain < TOLERABLE, lastStep };
}

function confine({ lowest, highest, size }: Likelihood, parameters: Float64Array): void {
  for (let i = 0; i < size; i++) parameters[i] = Math.min(highest[i]!, Math.max(lowest[i]!, parameters[i]!));
}

/** Parameters that stand at a bound and would go beyond: the others' step must not count on them. */
function stuckAtBounds({ lowest, highest }: Likelihood, here: Float64Array, gradient: Float64Array): number[] {
  const stuck: number[] = [];
  for (let i = 0; i < here.length; i++)
    if ((here[i]! <= lowest[i]! && gradient[i]! < 0) || (here[i]! >= highest[i]! && gradient[i]! > 0)) stuck.push(i);
  return stuck;
}

function symmetric(lower: Float64Array, n: number, damping: number): Matrix {
  const matrix = new Matrix(n, n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      matrix.set(i, j, lower[i * n + j]!);
      matrix.set(j, i, lower[i * n + j]!);
    }
    matrix.set(i, i, lower[i * n + i]! * (1 + damping) + Number.MIN_VALUE);
  }
  return matrix;
}

function solveDamped(
  information: Float64Array,
  gradient: Float64Array,
  damping: number,
  stuck: readonly number[],
): number[] | undefined {
  const matrix = symmetric(information, gradient.length, damping);
  const right = Matrix.columnVector(gradient);
  for (const i of stuck) {
    for (let j = 0; j < gradient.length; j++) {
      matrix.set(i, j, i === j ? 1 : 0);
      matrix.set(j, i, i === j ? 1 : 0);
    }
    right.set(i, 0, 0);
  }
  const cholesky = new CholeskyDecomposition(matrix);
  if (!cholesky.isPositiveDefinite()) return undefined;
  const move = cholesky.solve(right).to1DArray();
  return move.every(Number.isFinite) ? move : undefined;
}

/**
 * Solves for steps with an information matrix given by its lower triangle; undefined where it is singular. Cheaper than
 * `inverse` where only a few directions are asked for.
 */
export function informationSolver(
  information: Float64Array,
  n: number,
): ((right: Float64Array) => readonly number[]) | undefined {
  const cholesky = new CholeskyDecomposition(symmetric(information, n, 0));
  if (!cholesky.isPositiveDefinite()) return undefined;
  return (right) => cholesky.solve(Matrix.columnVector(right)).to1DArray();
}

/**
 * Covariance from an information matrix given by its lower triangle. NaN throughout where it is singular: nothing is known
 * about some combination of parameters.
 */
export function inverse(information: Float64Array, n: number): Float64Array {
  const cholesky = new CholeskyDecomposition(symmetric(information, n, 0));
  if (!cholesky.isPositiveDefinite()) return new Float64Array(n * n).fill(Number.NaN);
  return Float64Array.from(cholesky.solve(Matrix.eye(n)).to1DArray());
}
