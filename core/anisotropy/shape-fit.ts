import { inverse, Matrix } from "ml-matrix";
import { ln } from "../model/steady-math.ts";
import { pooledColumns, type RingCells, ringCells, ringSlopes } from "./ring-cells.ts";
import type { RingPixels } from "./ring-pixels.ts";

/** I(Q, phi) = R(Q) [1 + sum of coefficient * column], with one level R a ring and shapes that the columns give. */
export interface ShapeFit {
  readonly coefficients: Float64Array;
  /** Covariance of the coefficients, with the rings' levels fitted along. */
  readonly covariance: Matrix;
  /** Level of each ring. */
  readonly levels: Float64Array;
  /** Mean of the levels, each ring weighted by its norm: sum(signal)/sum(norm) of a full turn; its variance, and its covariance with the coefficients. */
  readonly mean: { readonly value: number; readonly variance: number; readonly covariance: Float64Array };
  /** sum (signal - expected)^2/variance over pixels. */
  readonly chi2: number;
  readonly degreesOfFreedom: number;
}

/** A fit with what it was made of, for further fits to the same pixels. Large: not to be kept. */
export interface FittedShapes extends ShapeFit {
  readonly pixels: RingPixels;
  /** One entry a pixel. */
  readonly columns: readonly Float64Array[];
  /** What was fitted, with norms that follow the radial fall inside each ring. */
  readonly cells: RingCells;
}

/** The first pass takes rings as flat, the others follow the slope that the pass before found. */
const PASSES = 3;
const MAX_ROUNDS = 60;
/** A round that moves no coefficient by more than this part of its sigma ends a pass; the last pass goes further. */
const STILL = 1e-4;
const NEARLY_STILL = 1e-2;
/** A shape that dips below 0 between the pixels of a trial step still needs a variance > 0. */
const LEAST_SHAPE = 0.02;

interface State {
  readonly levels: Float64Array;
  readonly coefficients: Float64Array;
}

/**
 * Fits levels and shapes together by Fisher scoring with variances from the model, so that missing angles are taken for
 * what they are and low counts leave no bias.
 *
 * @param columns one shape each, one entry a pixel
 * @returns undefined where the unmasked angles do not fix the coefficients
 */
export function fitShapes(pixels: RingPixels, columns: readonly Float64Array[]): FittedShapes | undefined {
  const state: State = { levels: meanLevels(pixels), coefficients: new Float64Array(columns.length) };
  let cells = ringCells(pixels, state.levels, new Float64Array(pixels.rings));
  for (let pass = 1; pass < PASSES; pass++) {
    if (isTooLittle(cells, columns.length, state.levels)) return undefined;
    if (!climb(cells, pooledColumns(pixels, cells, columns), state, NEARLY_STILL)) return undefined;
    // The levels are free of the shapes now, and so are the slopes between them.
    cells = ringCells(pixels, state.levels, ringSlopes(pixels, state.levels), {
      coefficients: state.coefficients,
      columns,
    });
  }
  return lastPass({ pixels, cells, columns }, state);
}

/**
 * Fits other shapes to the pixels of a fit, from its levels on: one pass, since slopes and variances are known.
 * @param start coefficients to begin with, one a column
 */
export function refitShapes(
  { pixels, cells, levels }: FittedShapes,
  columns: readonly Float64Array[],
  start: Float64Array,
): FittedShapes | undefined {
  if (isTooLittle(cells, columns.length, levels)) return undefined;
  return lastPass({ pixels, cells, columns }, { levels: levels.slice(), coefficients: start.slice() });
}

function lastPass(
  { pixels, cells, columns }: Pick<FittedShapes, "pixels" | "cells" | "columns">,
  state: State,
): FittedShapes | undefined {
  const pooled = pooledColumns(pixels, cells, columns);
  if (!climb(cells, pooled, state, STILL)) return undefined;
  const last = normalEquations(cells, pooled, state);
  const covariance = invert(last.schur);
  if (covariance === undefined) return undefined;
  const { levels, coefficients } = state;
  return {
    coefficients,
    covariance,
    levels,
    mean: meanLevel(cells, last, { levels, covariance }),
    chi2: last.chi2,
    degreesOfFreedom: cells.filled - columns.length - cells.rings,
    pixels,
    columns,
    cells,
  };
}

/** Twice what the (quasi-)log-likelihood of a fit gains over levels alone; follows chi-square where no shape is there. */
export function likelihoodRatio({ pixels, cells, columns, coefficients, levels }: FittedShapes): number {
  const flat: State = { levels: meanLevels(cells), coefficients: new Float64Array(0) };
  climb(cells, [], flat, STILL);
  const pooled = pooledColumns(pixels, cells, columns);
  return 2 * (quasiLogLikelihood(cells, pooled, { levels, coefficients }) - quasiLogLikelihood(cells, [], flat));
}

/** Pixels as they are where no shape is there: what score tests start from. */
export interface FlatFit {
  readonly pixels: RingPixels;
  readonly cells: RingCells;
  readonly levels: Float64Array;
}

export function flatFit(pixels: RingPixels): FlatFit {
  const levels = meanLevels(pixels);
  return { pixels, cells: ringCells(pixels, levels, ringSlopes(pixels, levels)), levels };
}

/**
 * Score test of the hypothesis that the coefficients are 0: with U the derivative of the log-likelihood at the flat fit
 * and F its information, U F^-1 U follows chi-square. Rao's test; needs no fit of the alternative and keeps its
 * distribution at low counts.
 *
 * @returns undefined where the unmasked angles do not fix the coefficients
 */
export function shapeScore({ pixels, cells, levels }: FlatFit, columns: readonly Float64Array[]): number | undefined {
  if (isTooLittle(cells, columns.length, levels)) return undefined;
  const system = normalEquations(cells, pooledColumns(pixels, cells, columns), {
    levels,
    coefficients: new Float64Array(columns.length),
  });
  const covariance = invert(system.schur);
  if (covariance === undefined) return undefined;
  const gradient = Matrix.columnVector(system.reducedGradient);
  return gradient.transpose().mmul(covariance).mmul(gradient).get(0, 0);
}

function isTooLittle({ filled, rings }: RingCells, size: number, levels: Float64Array): boolean {
  return filled <= size + rings || levels.every((level) => !(level > 0));
}

/** Fisher scoring from where `state` stands until it stands still; false where the angles do not fix the shapes. */
function climb(cells: RingCells, columns: readonly Float64Array[], state: State, still: number): boolean {
  for (let round = 0; round < MAX_ROUNDS; round++) {
    const solved = solve(normalEquations(cells, columns, state));
    if (solved === undefined) return false;
    // Large first steps of a strongly anisotropic pattern may leave the valid region: half of them is safe.
    const largest = solved.shapes.reduce((most, step) => Math.max(most, Math.abs(step)), 0);
    const damping = largest > 0.5 ? 0.5 / largest : 1;
    for (let n = 0; n < columns.length; n++) state.coefficients[n]! += damping * solved.shapes[n]!;
    let levelsMove = 0;
    for (let r = 0; r < state.levels.length; r++) {
      const step = damping * solved.levels[r]!;
      state.levels[r]! += step;
      levelsMove = Math.max(levelsMove, Math.abs(step) * solved.levelRoots[r]!);
    }
    const shapesStand = solved.shapes.every((step, n) => Math.abs(step) <= still * solved.sigmas[n]!);
    if (columns.length > 0 ? shapesStand : levelsMove <= still) break;
  }
  return true;
}

/** Intensity of each ring if it were flat. */
function meanLevels(
  of: Pick<RingCells, "count" | "ring" | "rings"> & { readonly signal: Float64Array; readonly norm: Float64Array },
): Float64Array {
  const [signal, norm] = [new Float64Array(of.rings), new Float64Array(of.rings)];
  for (let i = 0; i < of.count; i++) {
    signal[of.ring[i]!]! += of.signal[i]!;
    norm[of.ring[i]!]! += of.norm[i]!;
  }
  return signal.map((sum, r) => (norm[r]! > 0 ? sum / norm[r]! : 0));
}

interface NormalEquations {
  /** Information of the coefficients with the levels fitted along. */
  readonly schur: Matrix;
  readonly reducedGradient: Float64Array;
  readonly levelInformation: Float64Array;
  readonly levelGradient: Float64Array;
  readonly cross: Float64Array;
  readonly chi2: number;
}

function normalEquations(cells: RingCells, columns: readonly Float64Array[], state: State): NormalEquations {
  const size = columns.length;
  const { rings } = cells;
  const levelInformation = new Float64Array(rings);
  const levelGradient = new Float64Array(rings);
  const cross = new Float64Array(rings * size);
  const information = new Float64Array(size * size);
  const gradient = new Float64Array(size);
  let chi2 = 0;
  // The columns of one pixel side by side: half again as fast as reaching into each column again and again.
  const row = new Float64Array(size);
  const { ring, norm, signal, floor, gain, count } = cells;
  for (let i = 0; i < count; i++) {
    const r = ring[i]!;
    const level = state.levels[r]!;
    if (!(level > 0)) continue;
    let shape = 1;
    for (let n = 0; n < size; n++) {
      const value = columns[n]![i]!;
      row[n] = value;
      shape += state.coefficients[n]! * value;
    }
    const w = norm[i]!;
    const variance = gain * w * level * Math.max(shape, LEAST_SHAPE) + floor[i]!;
    if (!(variance > 0)) continue;
    const weight = 1 / variance;
    const residual = signal[i]! - w * level * shape;
    chi2 += residual * residual * weight;
    const byLevel = w * shape;
    const byShape = w * level;
    levelInformation[r]! += byLevel * byLevel * weight;
    levelGradient[r]! += byLevel * residual * weight;
    const pull = byShape * residual * weight;
    const mixed = byLevel * byShape * weight;
    const own = byShape * byShape * weight;
    for (let n = 0; n < size; n++) {
      const value = row[n]!;
      gradient[n]! += value * pull;
      cross[r * size + n]! += value * mixed;
      const scaled = value * own;
      for (let m = 0; m <= n; m++) information[n * size + m]! += scaled * row[m]!;
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
  readonly shapes: Float64Array;
  readonly sigmas: Float64Array;
  readonly levels: Float64Array;
  /** Root of each level's information: 1 over its sigma. */
  readonly levelRoots: Float64Array;
}

function solve(system: NormalEquations): Step | undefined {
  const covariance = invert(system.schur);
  if (covariance === undefined) return undefined;
  const size = system.reducedGradient.length;
  const shapes = timesVector(covariance, system.reducedGradient);
  const levels = system.levelInformation.map((information, r) => {
    if (!(information > 0)) return 0;
    let right = system.levelGradient[r]!;
    for (let n = 0; n < size; n++) right -= system.cross[r * size + n]! * shapes[n]!;
    return right / information;
  });
  return {
    shapes,
    sigmas: Float64Array.from(covariance.diag(), Math.sqrt),
    levels,
    levelRoots: system.levelInformation.map(Math.sqrt),
  };
}

/** From the joint information of levels and coefficients: the inverse of a matrix that is diagonal but for a border. */
function meanLevel(
  cells: RingCells,
  { levelInformation, cross }: NormalEquations,
  { levels, covariance }: { readonly levels: Float64Array; readonly covariance: Matrix },
): ShapeFit["mean"] {
  const size = covariance.rows;
  const weights = new Float64Array(cells.rings);
  let total = 0;
  for (let i = 0; i < cells.count; i++) {
    const r = cells.ring[i]!;
    if (!(levelInformation[r]! > 0)) continue;
    weights[r]! += cells.norm[i]!;
    total += cells.norm[i]!;
  }
  let [value, variance] = [0, 0];
  const pull = new Float64Array(size);
  for (let r = 0; r < cells.rings; r++) {
    if (weights[r] === 0) continue;
    const share = weights[r]! / total;
    value += share * levels[r]!;
    variance += (share * share) / levelInformation[r]!;
    for (let n = 0; n < size; n++) pull[n]! += (share * cross[r * size + n]!) / levelInformation[r]!;
  }
  const away = timesVector(covariance, pull);
  for (let n = 0; n < size; n++) variance += pull[n]! * away[n]!;
  return { value, variance, covariance: away.map((entry) => -entry) };
}

/**
 * Quasi-log-likelihood for a variance V(mu) = gain mu + floor: the integral of (signal - mu)/V, which is
 * [(signal + floor/gain) ln V - mu]/gain; for raw counts Poisson's own, up to a constant.
 * Source: Wedderburn 1974, Biometrika 61, 439 (from memory).
 */
function quasiLogLikelihood(cells: RingCells, columns: readonly Float64Array[], state: State): number {
  const { gain } = cells;
  let sum = 0;
  for (let i = 0; i < cells.count; i++) {
    const level = state.levels[cells.ring[i]!]!;
    if (!(level > 0)) continue;
    let shape = 1;
    for (let n = 0; n < columns.length; n++) shape += state.coefficients[n]! * columns[n]![i]!;
    const expected = cells.norm[i]! * level * Math.max(shape, LEAST_SHAPE);
    const variance = gain * expected + cells.floor[i]!;
    if (!(variance > 0)) continue;
    sum += ((cells.signal[i]! + cells.floor[i]! / gain) * ln(variance) - expected) / gain;
  }
  return sum;
}

function timesVector(matrix: Matrix, vector: Float64Array): Float64Array {
  return Float64Array.from(vector, (_, n) => {
    let sum = 0;
    for (let m = 0; m < vector.length; m++) sum += matrix.get(n, m) * vector[m]!;
    return sum;
  });
}

/** Beyond this ratio of eigenvalues the angles that are left do not tell the shapes apart. */
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
