import { exp, ln } from "../model/steady-math.ts";
import type { RingPixels } from "./ring-pixels.ts";

/** What is fitted: pixels, or sums over the pixels of a cell. Arrays run over the cells. */
export interface RingCells {
  readonly count: number;
  /** Cells with at least one pixel. */
  readonly filled: number;
  readonly ring: Int32Array;
  readonly rings: number;
  readonly signal: Float64Array;
  readonly norm: Float64Array;
  /** Variance of the signal = gain * norm * intensity + floor. */
  readonly gain: number;
  readonly floor: Float64Array;
  /** Norm of each pixel, with the radial fall inside its ring: the weights by which columns are pooled. */
  readonly pixelNorm: Float64Array;
}

/** A model's shape: 1 + sum of coefficient * column, with columns that run over pixels. */
export interface PixelShape {
  readonly coefficients: Float64Array;
  readonly columns: readonly Float64Array[];
}

/**
 * Cells of an annulus with norms that follow the radial fall inside each ring, norm (Q/Q of the ring)^slope: the lattice
 * of pixels does not spread evenly over a ring, and a steep fall would otherwise look like harmonics. The scatter of the
 * norms is taken at what the model expects of each pixel, and stands in the floor.
 *
 * @param levels intensity of each ring
 * @param slopes d ln I/d ln Q of each ring
 */
export function ringCells(
  pixels: RingPixels,
  levels: Float64Array,
  slopes: Float64Array,
  shape?: PixelShape,
): RingCells {
  const { count, ring, lnQ, normVariance, background } = pixels;
  const norm = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const slope = slopes[ring[i]!]!;
    norm[i] = slope === 0 ? pixels.norm[i]! : pixels.norm[i]! * exp(slope * lnQ[i]!);
  }
  const floor = normVariance === undefined ? pixels.floor : pixels.floor.slice();
  if (normVariance !== undefined)
    for (let i = 0; i < count; i++) {
      const expected = norm[i]! * Math.max(0, levels[ring[i]!]!) * shapeAt(shape, i) + background * pixels.norm[i]!;
      floor[i]! += normVariance[i]! * expected * expected;
    }
  const { rings, gain, cells } = pixels;
  if (cells === undefined)
    return { count, filled: count, ring, rings, signal: pixels.signal, norm, gain, floor, pixelNorm: norm };
  const sums = {
    signal: new Float64Array(cells.count),
    norm: new Float64Array(cells.count),
    floor: new Float64Array(cells.count),
  };
  for (let i = 0; i < count; i++) {
    const c = cells.index[i]!;
    sums.signal[c]! += pixels.signal[i]!;
    sums.norm[c]! += norm[i]!;
    sums.floor[c]! += floor[i]!;
  }
  let filled = 0;
  for (const value of sums.norm) if (value > 0) filled++;
  return { count: cells.count, filled, ring: cells.ring, rings, gain, ...sums, pixelNorm: norm };
}

function shapeAt(shape: PixelShape | undefined, i: number): number {
  let value = 1;
  if (shape === undefined) return value;
  for (let n = 0; n < shape.columns.length; n++) value += shape.coefficients[n]! * shape.columns[n]![i]!;
  return Math.max(0, value);
}

/** Columns over the cells: means over the pixels of each, weighted as the expected signal is. */
export function pooledColumns(
  { cells }: Pick<RingPixels, "cells">,
  { pixelNorm, norm }: RingCells,
  columns: readonly Float64Array[],
): readonly Float64Array[] {
  if (cells === undefined) return columns;
  const { index, count } = cells;
  return columns.map((column) => {
    const pooled = new Float64Array(count);
    for (let i = 0; i < column.length; i++) pooled[index[i]!]! += pixelNorm[i]! * column[i]!;
    for (let c = 0; c < count; c++) if (norm[c]! > 0) pooled[c]! /= norm[c]!;
    return pooled;
  });
}

/** Half-width in ln Q of the rings that a slope is taken from, and the least number of rings on either side. */
const SLOPE_WINDOW = 0.05;
const SLOPE_RINGS = 2;

/**
 * d ln I/d ln Q at each ring, from means over the rings on either side; 0 where they do not tell. Where rings are narrow
 * the means take more of them: a slope that scatters would make every shift of the centre look smaller than it is.
 */
export function ringSlopes(pixels: RingPixels, levels: Float64Array): Float64Array {
  const { rings, ringQ } = pixels;
  const weight = new Float64Array(rings);
  for (let i = 0; i < pixels.count; i++) weight[pixels.ring[i]!]! += pixels.norm[i]!;
  const mean = (values: Float64Array, from: number, size: number) => {
    let [sum, total] = [0, 0];
    for (let r = Math.max(0, from); r < Math.min(rings, from + size); r++) {
      if (!(weight[r]! > 0)) continue;
      sum += weight[r]! * values[r]!;
      total += weight[r]!;
    }
    return sum / total;
  };
  const width = rings > 1 ? (ringQ[rings - 1]! - ringQ[0]!) / (rings - 1) : Number.NaN;
  return ringQ.map((q, r) => {
    const reach = Math.max(SLOPE_RINGS, Math.min(rings, Math.round((SLOPE_WINDOW * q) / width)) || 0);
    const [low, high] = [Math.min(r - reach, rings - 2 - reach), Math.max(r, 1)];
    const ratioI = mean(levels, high, reach + 1) / mean(levels, low, reach + 1);
    const ratioQ = mean(ringQ, high, reach + 1) / mean(ringQ, low, reach + 1);
    return ratioI > 0 && ratioQ > 1 && Number.isFinite(ratioI) ? ln(ratioI) / ln(ratioQ) : 0;
  });
}
