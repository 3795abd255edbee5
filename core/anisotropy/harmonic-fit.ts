import { inverse, Matrix } from "ml-matrix";
import { followSlope, type RingPixels } from "./ring-pixels.ts";

/** Azimuthal shape of an annulus: I(Q, phi) = R(Q) [1 + sum over orders of a_n cos n phi + b_n sin n phi]. */
export interface HarmonicFit {
  readonly orders: readonly number[];
  /** a_1', b_1', a_2', ... in the order of `orders`, relative to the mean over a full turn. */
  readonly coefficients: Float64Array;
  /** Covariance of the coefficients, row-major, with the rings' levels fitted along. */
  readonly covariance: Matrix;
  /** Intensity of each ring, averaged over a full turn. */
  readonly levels: Float64Array;
  readonly levelSigma: Float64Array;
  /** sum (signal - expected)^2/variance over pixels. */
  readonly chi2: number;
  readonly degreesOfFreedom: number;
}

/** The first pass takes rings as flat, the others follow the slope that the pass before found. */
const PASSES = 3;
const MAX_ROUNDS = 60;
/** A round that moves no coefficient by more than this part of its sigma ends the fit. */
const STILL = 1e-5;

/**
 * Fits levels and harmonics together by Fisher scoring with variances from the model, so that missing angles are taken
 * for what they are and low counts leave no bias.
 *
 * @returns undefined where the unmasked angles do not fix the harmonics
 */
export function fitHarmonics(pixels: RingPixels, orders: readonly number[]): HarmonicFit | undefined {
  const size = 2 * orders.length;
  const columns = harmonicColumns(pixels, orders);
  const levels = meanLevels(pixels);
  const coefficients = new Float64Array(size);
  if (pixels.count <= size + pixels.rings || levels.every((level) => !(level > 0))) return undefined;
  let followed = pixels;
  for (let pass = 0; pass < PASSES; pass++) {
    if (!climb(followed, columns, { levels, coefficients })) return undefined;
    // The levels are free of the harmonics now, and so are the slopes between them.
    if (pass + 1 < PASSES) followed = followSlope(pixels, levels);
  }
  const last = normalEquations(followed, columns, { levels, coefficients });
  const covariance = invert(last.schur);
  if (covariance === undefined) return undefined;
  return {
    orders,
    coefficients,
    covariance,
    levels,
    levelSigma: last.levelInformation.map((information) => (information > 0 ? 1 / Math.sqrt(information) : Number.NaN)),
    chi2: last.chi2,
    degreesOfFreedom: pixels.count - size - pixels.rings,
  };
}

/** Fisher scoring from where `state` stands until it stands still; false where the angles do not fix the harmonics. */
function climb(
  pixels: RingPixels,
  columns: readonly Float64Array[],
  state: { readonly levels: Float64Array; readonly coefficients: Float64Array },
): boolean {
  for (let round = 0; round < MAX_ROUNDS; round++) {
    const solved = solve(normalEquations(pixels, columns, state));
    if (solved === undefined) return false;
    // Large first steps of a strongly anisotropic pattern may leave the valid region: half of them is safe.
    const largest = solved.harmonics.reduce((most, step) => Math.max(most, Math.abs(step)), 0);
    const damping = largest > 0.5 ? 0.5 / largest : 1;
    for (let n = 0; n < columns.length; n++) state.coefficients[n]! += damping * solved.harmonics[n]!;
    for (let r = 0; r < state.levels.length; r++) state.levels[r]! += damping * solved.levels[r]!;
    if (solved.harmonics.every((step, n) => Math.abs(step) <= STILL * solved.sigmas[n]!)) break;
  }
  return true;
}

/**
 * Score test of the hypothesis that the named harmonics are 0: with U the derivative of the log-likelihood at the
 * isotropic fit and F its information, U F^-1 U follows chi-square. Rao's test; needs no fit of the alternative and
 * keeps its distribution at low counts.
 *
 * @returns undefined where the unmasked angles do not fix the harmonics
 */
export function isotropyScore(
  pixels: RingPixels,
  orders: readonly number[],
): { readonly score: number; readonly degreesOfFreedom: number } | undefined {
  const columns = harmonicColumns(pixels, orders);
  const levels = meanLevels(pixels);
  if (pixels.count <= 2 * orders.length + pixels.rings || levels.every((level) => !(level > 0))) return undefined;
  const state = { levels, coefficients: new Float64Array(2 * orders.length) };
  const system = normalEquations(followSlope(pixels, levels), columns, state);
  const covariance = invert(system.schur);
  if (covariance === undefined) return undefined;
  const gradient = Matrix.columnVector(system.reducedGradient);
  const score = gradient.transpose().mmul(covariance).mmul(gradient).get(0, 0);
  return { score, degreesOfFreedom: 2 * orders.length };
}

/** cos n phi and sin n phi of every pixel, by the recursion of the Chebyshev polynomials. */
function harmonicColumns(pixels: RingPixels, orders: readonly number[]): Float64Array[] {
  const highest = orders.reduce((most, order) => Math.max(most, order), 0);
  const columns = orders.flatMap(() => [new Float64Array(pixels.count), new Float64Array(pixels.count)]);
  for (let i = 0; i < pixels.count; i++) {
    const [c, s] = [pixels.cos[i]!, pixels.sin[i]!];
    let [cn, sn] = [1, 0];
    for (let n = 1; n <= highest; n++) {
      [cn, sn] = [cn * c - sn * s, sn * c + cn * s];
      const at = orders.indexOf(n);
      if (at < 0) continue;
      columns[2 * at]![i] = cn;
      columns[2 * at + 1]![i] = sn;
    }
  }
  return columns;
}

/** Intensity of each ring if it were isotropic. */
function meanLevels(pixels: RingPixels): Float64Array {
  const [signal, norm] = [new Float64Array(pixels.rings), new Float64Array(pixels.rings)];
  for (let i = 0; i < pixels.count; i++) {
    signal[pixels.ring[i]!]! += pixels.signal[i]!;
    norm[pixels.ring[i]!]! += pixels.norm[i]!;
  }
  return signal.map((sum, r) => (norm[r]! > 0 ? sum / norm[r]! : 0));
}

interface NormalEquations {
  /** Information of the harmonics with the levels fitted along. */
  readonly schur: Matrix;
  readonly reducedGradient: Float64Array;
  readonly levelInformation: Float64Array;
  readonly levelGradient: Float64Array;
  readonly cross: Float64Array;
  readonly chi2: number;
}

function normalEquations(
  pixels: RingPixels,
  columns: readonly Float64Array[],
  state: { readonly levels: Float64Array; readonly coefficients: Float64Array },
): NormalEquations {
  const size = columns.length;
  const { rings } = pixels;
  const levelInformation = new Float64Array(rings);
  const levelGradient = new Float64Array(rings);
  const cross = new Float64Array(rings * size);
  const information = new Float64Array(size * size);
  const gradient = new Float64Array(size);
  let chi2 = 0;
  for (let i = 0; i < pixels.count; i++) {
    const r = pixels.ring[i]!;
    const level = state.levels[r]!;
    if (!(level > 0)) continue;
    let shape = 1;
    for (let n = 0; n < size; n++) shape += state.coefficients[n]! * columns[n]![i]!;
    const w = pixels.norm[i]!;
    // A shape that dips below 0 between the pixels of a trial step still needs a variance > 0.
    const variance = pixels.gain * w * level * Math.max(shape, 0.02) + pixels.floor[i]!;
    if (!(variance > 0)) continue;
    const residual = pixels.signal[i]! - w * level * shape;
    chi2 += (residual * residual) / variance;
    const byLevel = w * shape;
    const byShape = w * level;
    levelInformation[r]! += (byLevel * byLevel) / variance;
    levelGradient[r]! += (byLevel * residual) / variance;
    for (let n = 0; n < size; n++) {
      const dn = byShape * columns[n]![i]!;
      gradient[n]! += (dn * residual) / variance;
      cross[r * size + n]! += (byLevel * dn) / variance;
      for (let m = 0; m <= n; m++) information[n * size + m]! += (dn * byShape * columns[m]![i]!) / variance;
    }
  }
  const schur = Matrix.zeros(size, size);
  const reducedGradient = gradient.slice();
  for (let n = 0; n < size; n++) {
    for (let m = 0; m <= n; m++) {
      let value = information[n * size + m]!;
      for (let r = 0; r < rings; r++)
        if (levelInformation[r]! > 0) value -= (cross[r * size + n]! * cross[r * size + m]!) / levelInformation[r]!;
      schur.set(n, m, value);
      schur.set(m, n, value);
    }
    for (let r = 0; r < rings; r++)
      if (levelInformation[r]! > 0)
        reducedGradient[n]! -= (cross[r * size + n]! * levelGradient[r]!) / levelInformation[r]!;
  }
  return { schur, reducedGradient, levelInformation, levelGradient, cross, chi2 };
}

interface Step {
  readonly harmonics: Float64Array;
  readonly sigmas: Float64Array;
  readonly levels: Float64Array;
}

function solve(system: NormalEquations): Step | undefined {
  const covariance = invert(system.schur);
  if (covariance === undefined) return undefined;
  const harmonics = Float64Array.from(covariance.mmul(Matrix.columnVector(system.reducedGradient)).to1DArray());
  const size = harmonics.length;
  const levels = system.levelInformation.map((information, r) => {
    if (!(information > 0)) return 0;
    let right = system.levelGradient[r]!;
    for (let n = 0; n < size; n++) right -= system.cross[r * size + n]! * harmonics[n]!;
    return right / information;
  });
  return { harmonics, sigmas: Float64Array.from(covariance.diag(), Math.sqrt), levels };
}

/** Beyond this ratio of eigenvalues the angles that are left do not tell the harmonics apart. */
const WORST_CONDITION = 1e8;

function invert(matrix: Matrix): Matrix | undefined {
  const size = matrix.rows;
  if (size === 0) return matrix;
  const diagonal = matrix.diag();
  if (!diagonal.every((value) => value > 0)) return undefined;
  const inverted = inverse(matrix, true);
  const back = inverted.diag();
  for (let n = 0; n < size; n++) if (!(back[n]! > 0) || back[n]! * diagonal[n]! > WORST_CONDITION) return undefined;
  return inverted;
}
