import type { PlanBins } from "../model/plan.ts";
import { failure, type Result, success } from "../model/result.ts";
import { exp, ln } from "../model/steady-math.ts";

/** How bins are asked for, in the plan's own words. Q in 1/angstrom; what is left out comes from the pixels. */
export type BinChoice = PlanBins;

/** What the pixels in use offer, 1/angstrom. */
export interface PixelRange {
  readonly min: number;
  readonly max: number;
  /** Smallest value above 0: where a logarithmic scale can start. */
  readonly minPositive: number;
  /** Step from one pixel to the next near the beam: k p / L. */
  readonly pixelStep: number;
}

export const DEFAULT_BINS: BinChoice = { spacing: "log" };
/** The same over the points of a finished curve, for what is left out. */
export function binEdgesOver(choice: BinChoice, q: Float64Array, field = "bins"): Result<Float64Array> {
  let [min, max, minPositive] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const at of q) {
    min = Math.min(min, at);
    max = Math.max(max, at);
    if (at > 0) minPositive = Math.min(minPositive, at);
  }
  return binEdges(choice, { min, max, minPositive, pixelStep: Number.NaN }, field);
}

const DEFAULT_LOG_COUNT = 100;
const MAX_COUNT = 100_000;
/** Default limits stand this far, relatively, outside the outermost pixels, so that rounding can't drop them. */
const MARGIN = 1e-12;

/**
 * Edges of the bins, one more than bins, ascending. Bins are [low, high), the last one closed.
 * Defaults: limits from the pixels in use; as many linear bins as there are pixel steps; 100 logarithmic ones.
 * @param field where the choice stands in the plan, for messages
 */
export function binEdges(choice: BinChoice, range: PixelRange, field = "bins"): Result<Float64Array> {
  if (choice.spacing === "edges") return explicitEdges(choice.edges, field);
  const lowest = choice.spacing === "log" ? range.minPositive : range.min;
  const low = choice.qMin ?? lowest - Math.abs(lowest) * MARGIN;
  const high = choice.qMax ?? range.max + Math.abs(range.max) * MARGIN;
  if (!(Number.isFinite(low) && Number.isFinite(high)))
    return failure("missing", "no unmasked pixel to take the Q range from; give qMin and qMax or mask less", { field });
  if (choice.spacing === "log" && !(low > 0))
    return failure("out-of-range", `logarithmic bins need qMin > 0 1/A, not ${low}`, { field: `${field}.qMin` });
  if (!(high > low))
    return failure("out-of-range", `bins need qMax > qMin; found qMin ${low} and qMax ${high} 1/A`, {
      field: `${field}.${choice.qMax === undefined ? "qMin" : "qMax"}`,
    });
  const count = choice.count ?? defaultCount(choice.spacing, (high - low) / range.pixelStep);
  if (!(Number.isInteger(count) && count >= 1 && count <= MAX_COUNT))
    return failure("out-of-range", `count must be a whole number from 1 to ${MAX_COUNT}, not ${count}`, {
      field: `${field}.count`,
    });

  const edges = new Float64Array(count + 1);
  // exp and log round alike in every engine, powers need not.
  const ratio = choice.spacing === "log" ? ln(high / low) : 0;
  for (let k = 0; k <= count; k++)
    edges[k] = choice.spacing === "log" ? low * exp((k / count) * ratio) : low + (k / count) * (high - low);
  edges[count] = high;
  for (let k = 0; k < count; k++)
    if (!(edges[k + 1]! > edges[k]!))
      return failure("out-of-range", `${count} bins between ${low} and ${high} 1/A are too narrow to be told apart`, {
        field: `${field}.count`,
      });
  return success(edges);
}

/** Range of `values` over pixels whose mask is 0; infinite where there are none. */
export function pixelRange(values: Float64Array, mask: Uint16Array, pixelStep: number): PixelRange {
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let minPositive = Number.POSITIVE_INFINITY;
  for (let p = 0; p < values.length; p++) {
    if (mask[p] !== 0) continue;
    const value = values[p]!;
    if (value < min) min = value;
    if (value > max) max = value;
    if (value > 0 && value < minPositive) minPositive = value;
  }
  return { min, max, minPositive, pixelStep };
}

function defaultCount(spacing: "linear" | "log", steps: number): number {
  return spacing === "log" ? DEFAULT_LOG_COUNT : Math.min(MAX_COUNT, Math.max(1, Math.round(steps)));
}

function explicitEdges(edges: readonly number[], field: string): Result<Float64Array> {
  const place = { field: `${field}.edges` };
  if (edges.length < 2 || edges.length > MAX_COUNT + 1)
    return failure("out-of-range", `edges must be 2 to ${MAX_COUNT + 1} numbers, not ${edges.length}`, place);
  for (let k = 0; k < edges.length; k++) {
    if (!Number.isFinite(edges[k])) return failure("out-of-range", `edge ${k} is ${edges[k]}, not a number`, place);
    if (k > 0 && !(edges[k]! > edges[k - 1]!))
      return failure("out-of-range", `edges must ascend; edge ${k} is ${edges[k]} after ${edges[k - 1]}`, place);
  }
  return success(Float64Array.from(edges));
}
