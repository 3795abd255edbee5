import type { CountRange } from "../view-types.ts";
import { axisPosition, axisValue, type CountAxis } from "./histogram.ts";

/** The ends keep at least this much of the axis between them. */
const LEAST_GAP = 0.01;

/** The range with one end at a place 0..1 of the axis; the ends do not pass each other. */
export function withEnd(axis: CountAxis, range: CountRange, end: keyof CountRange, place: number): CountRange {
  const other = axisPosition(axis, end === "low" ? range.high : range.low);
  const kept =
    end === "low" ? Math.min(place, Math.max(0, other - LEAST_GAP)) : Math.max(place, Math.min(1, other + LEAST_GAP));
  return { ...range, [end]: Number(axisValue(axis, kept).toPrecision(3)) };
}

/** Places for numbers below the axis: round values, at least `gap` of the axis apart. */
export function axisNumbers(axis: CountAxis, gap: number): number[] {
  const candidates = axis.kind === "linear" ? linearCandidates(axis) : logCandidates(axis);
  const kept: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const value of candidates) {
    const place = axisPosition(axis, value);
    if (place - last < gap || value > axis.high) continue;
    kept.push(value);
    last = place;
  }
  return kept;
}

function linearCandidates({ low, high }: CountAxis): number[] {
  const step = 10 ** Math.floor(Math.log10((high - low) / 2));
  const values: number[] = [];
  for (let n = Math.ceil(low / step); n * step <= high; n++) values.push(Number((n * step).toPrecision(6)));
  return values;
}

/** Zero, then powers of ten from the unit up. */
function logCandidates({ high, unit }: CountAxis): number[] {
  const values = [0];
  for (let power = Math.ceil(Math.log10(unit)); 10 ** power <= high; power++) values.push(Number(`1e${power}`));
  return values;
}
