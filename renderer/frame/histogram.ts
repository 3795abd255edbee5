import type { PixelArray } from "../../core/model/frame.ts";
import type { CountRange, FrameScale } from "../view-types.ts";

/** Values for which room is kept when percentiles are estimated: a sort of 10 ms. */
const SAMPLE = 65_536;
/** Percentiles of unmasked pixels that the automatic range spans. */
const LOW_PART = 0.002;
const HIGH_PART = 0.998;

/**
 * The axis of the histogram: t = log(1 + v / unit) / log(1 + max / unit) for counts, so that zero has a place and small
 * counts have room; a straight line where values go below zero.
 */
export interface CountAxis {
  readonly kind: "log" | "linear";
  readonly low: number;
  readonly high: number;
  readonly unit: number;
}

export interface Histogram {
  readonly axis: CountAxis;
  /** One more than bins, in values. */
  readonly edges: Float64Array;
  readonly pixels: Float64Array;
  /** Unmasked pixels with a finite value. */
  readonly total: number;
}

export function axisPosition({ kind, low, high, unit }: CountAxis, value: number): number {
  const t =
    kind === "linear" ? (value - low) / (high - low) : Math.log1p(Math.max(0, value) / unit) / Math.log1p(high / unit);
  return Math.min(1, Math.max(0, t));
}

export function axisValue({ kind, low, high, unit }: CountAxis, t: number): number {
  const place = Math.min(1, Math.max(0, t));
  return kind === "linear" ? low + place * (high - low) : unit * Math.expm1(place * Math.log1p(high / unit));
}

/** Histogram of the unmasked finite values. Bins of whole counts never split a count. */
export function countHistogram(counts: PixelArray, mask: Uint16Array, wantedBins: number): Histogram {
  if (counts.length !== mask.length) throw new RangeError(`mask of ${mask.length} pixels for ${counts.length}`);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let smallestPositive = Number.POSITIVE_INFINITY;
  let total = 0;
  for (let p = 0; p < counts.length; p++) {
    const value = counts[p] as number;
    if (mask[p] !== 0 || !Number.isFinite(value)) continue;
    total++;
    if (value < low) low = value;
    if (value > high) high = value;
    if (value > 0 && value < smallestPositive) smallestPositive = value;
  }
  if (total === 0) [low, high] = [0, 1];
  const whole = !(counts instanceof Float32Array || counts instanceof Float64Array) || smallestPositive >= 1;
  const axis: CountAxis =
    low < 0
      ? { kind: "linear", low, high: high > low ? high : low + 1, unit: 1 }
      : { kind: "log", low: 0, high: high > 0 ? high : 1, unit: whole ? 1 : Math.max(smallestPositive, high * 1e-6) };
  const edges = binEdges(axis, wantedBins, whole);
  const pixels = new Float64Array(edges.length - 1);
  const bins = whole && low >= 0 ? binsOfWhole(axis, edges) : undefined;
  for (let p = 0; p < counts.length; p++) {
    const value = counts[p] as number;
    if (mask[p] !== 0 || !Number.isFinite(value)) continue;
    const bin = bins?.[value] ?? binOf(axis, edges, value);
    pixels[bin] = (pixels[bin] as number) + 1;
  }
  return { axis, edges, pixels, total };
}

/** Whole counts up to this have a table: a logarithm a pixel would hold the window up on a large frame. */
const TABLE = 65_536;

/** Bin of each whole count; beyond the table, and between whole counts, `undefined`. */
function binsOfWhole(axis: CountAxis, edges: Float64Array): Uint16Array {
  const bins = new Uint16Array(Math.min(TABLE, Math.floor(axis.high) + 1));
  for (let value = 0, bin = 0; value < bins.length; value++) {
    while (bin < edges.length - 2 && value >= (edges[bin + 1] as number)) bin++;
    bins[value] = bin;
  }
  return bins;
}

/** The edges are even on the axis but for their rounding to half counts: guess, then step. */
function binOf(axis: CountAxis, edges: Float64Array, value: number): number {
  const last = edges.length - 2;
  let bin = Math.min(last, Math.floor(axisPosition(axis, value) * (last + 1)));
  while (bin > 0 && value < (edges[bin] as number)) bin--;
  while (bin < last && value >= (edges[bin + 1] as number)) bin++;
  return bin;
}

function binEdges(axis: CountAxis, wanted: number, whole: boolean): Float64Array {
  const edges: number[] = [];
  for (let i = 0; i <= wanted; i++) {
    const value = axisValue(axis, i / wanted);
    const edge = whole ? Math.floor(value + 0.5) + (i === wanted ? 0.5 : -0.5) : value;
    if (edges.length === 0 || edge > (edges[edges.length - 1] as number)) edges.push(edge);
  }
  if (edges.length < 2) edges.push((edges[0] as number) + 1);
  return Float64Array.from(edges);
}

/**
 * A range that shows the scattering and lets a few bright pixels go: percentiles of the unmasked pixels, on a log scale
 * of those above zero. Beyond 65 536 pixels every n-th one is looked at.
 */
export function automaticRange(counts: PixelArray, mask: Uint16Array, scale: FrameScale): CountRange {
  if (counts.length !== mask.length) throw new RangeError(`mask of ${mask.length} pixels for ${counts.length}`);
  // An odd step, so that it does not keep to some columns of a frame whose width is a power of two.
  const step = Math.max(1, Math.ceil(counts.length / SAMPLE)) | 1;
  const sample = new Float64Array(Math.ceil(counts.length / step));
  let n = 0;
  for (let p = 0; p < counts.length; p += step) {
    const value = counts[p] as number;
    if (mask[p] === 0 && Number.isFinite(value) && (scale !== "log" || value > 0)) sample[n++] = value;
  }
  if (n === 0) return { low: 0, high: 1 };
  const sorted = sample.subarray(0, n).sort();
  const low = sorted[Math.floor(LOW_PART * (n - 1))] as number;
  const high = sorted[Math.ceil(HIGH_PART * (n - 1))] as number;
  if (scale === "square-root" && low >= 0) return { low: 0, high: high > 0 ? high : 1 };
  return { low, high: high > low ? high : low + Math.max(1, Math.abs(low)) };
}
