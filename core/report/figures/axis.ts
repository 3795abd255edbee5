import { scaleLinear } from "d3-scale";
import { decadeOf } from "../../model/numbers.ts";

/** What an axis shows. In `label` and `unit`, "^2" is raised. */
export interface AxisSpec {
  readonly label: string;
  /** "" for a plain number. */
  readonly unit: string;
  readonly scale: "linear" | "log";
  /** Ends that don't depend on the data, with their ticks. */
  readonly fixed?: { readonly low: number; readonly high: number; readonly ticks: readonly number[] };
}

export interface Tick {
  readonly value: number;
  /** Undefined: a small tick without a number. */
  readonly label?: string;
}

export interface Axis {
  readonly low: number;
  readonly high: number;
  readonly scale: AxisSpec["scale"];
  readonly ticks: readonly Tick[];
  /** Name and unit, with the power of ten that the tick labels leave out. */
  readonly title: string;
}

/** Lowest and highest of the numbers that can stand on the axis; undefined where there are none. */
export function extentOf(
  values: Iterable<number>,
  scale: AxisSpec["scale"],
): { readonly low: number; readonly high: number } | undefined {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (!canStand(value, scale)) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low <= high ? { low, high } : undefined;
}

/** A logarithm has no place for 0 and below: such points are left out, never moved to the edge. */
export function canStand(value: number, scale: AxisSpec["scale"]): boolean {
  return Number.isFinite(value) && (scale === "linear" || value > 0);
}

/** An axis around `extent`, with ticks at round numbers. */
export function makeAxis(spec: AxisSpec, extent: { readonly low: number; readonly high: number }): Axis {
  if (spec.fixed !== undefined) return linearAxis(spec, spec.fixed.low, spec.fixed.high, spec.fixed.ticks);
  return spec.scale === "log" ? logAxis(spec, extent) : roundLinearAxis(spec, extent);
}

/** Place of a value along the axis: 0 at its low end, 1 at its high end. */
export function fractionAlong({ low, high, scale }: Axis, value: number): number {
  if (scale === "linear") return (value - low) / (high - low);
  return Math.log(value / low) / Math.log(high / low);
}

const LINEAR_TICKS = 5;
const PADDING = 0.04;

function roundLinearAxis(spec: AxisSpec, extent: { readonly low: number; readonly high: number }): Axis {
  const spread = extent.high - extent.low || Math.abs(extent.high) || 1;
  const scale = scaleLinear().domain([extent.low - PADDING * spread, extent.high + PADDING * spread]);
  const [low, high] = scale.domain() as [number, number];
  // Intensities of either sign are rare; where there are none, nothing below 0 is drawn.
  return linearAxis(spec, extent.low >= 0 ? Math.max(0, low) : low, high, scale.ticks(LINEAR_TICKS));
}

function linearAxis(spec: AxisSpec, low: number, high: number, ticks: readonly number[]): Axis {
  const inside = ticks.filter((tick) => tick >= low && tick <= high);
  const largest = Math.max(Math.abs(low), Math.abs(high));
  const power = decadeOf(largest);
  const shift = power >= 5 || power <= -3 ? power : 0;
  const scaled = inside.map((tick) => tick / powerOfTen(shift));
  const step = scaled.length > 1 ? Math.abs(scaled[1]! - scaled[0]!) : Math.abs(scaled[0] ?? 1);
  const places = Math.min(6, Math.max(0, placesOf(step)));
  return {
    low,
    high,
    scale: "linear",
    ticks: inside.map((value, i) => ({ value, label: signed(scaled[i]!.toFixed(places)) })),
    title: axisTitle(spec, shift),
  };
}

/** Decimal places of a step that is 1, 2 or 5 times a power of ten. */
function placesOf(step: number): number {
  return step > 0 ? -decadeOf(step) : 0;
}

function logAxis(spec: AxisSpec, extent: { readonly low: number; readonly high: number }): Axis {
  const ratio = Math.max(extent.high / extent.low, 1.5);
  const pad = Math.exp(PADDING * Math.log(ratio));
  const middle = Math.sqrt(extent.low) * Math.sqrt(extent.high);
  const low = Math.min(extent.low, middle / Math.sqrt(ratio)) / pad;
  const high = Math.max(extent.high, middle * Math.sqrt(ratio)) * pad;

  const decades = Math.log10(high / low);
  // Over many decades each second or third has a number; over few, 2 and 5 have one too.
  const every = Math.ceil(decades / 7);
  const numbered = decades < 1 ? [1, 2, 3, 5, 7] : decades < 2.2 ? [1, 2, 5] : [1];
  const firstDecade = decadeOf(low);
  const lastDecade = decadeOf(high) + 1;
  const asPowers = firstDecade < -4 || lastDecade > 5;
  const ticks: Tick[] = [];
  for (let decade = firstDecade; decade <= lastDecade; decade++) {
    for (let digit = 1; digit <= 9; digit++) {
      const value = digit * powerOfTen(decade);
      if (value < low || value > high) continue;
      const hasNumber = numbered.includes(digit) && decade % every === 0;
      if (hasNumber) ticks.push({ value, label: logLabel(digit, decade, asPowers) });
      else if (every === 1 || digit === 1) ticks.push({ value });
    }
  }
  // Within a small part of a decade there are hardly any such numbers: evenly spaced ones stand there instead.
  if (ticks.filter(({ label }) => label !== undefined).length < 3 && decades < 2) {
    const even = linearAxis(spec, low, high, scaleLinear().domain([low, high]).ticks(LINEAR_TICKS));
    return { ...even, scale: "log" };
  }
  return { low, high, scale: "log", ticks, title: axisTitle(spec, 0) };
}

function logLabel(digit: number, decade: number, asPowers: boolean): string {
  if (asPowers) return digit === 1 ? `10^${decade}` : `${digit}·10^${decade}`;
  return decade < 0 ? (digit * powerOfTen(decade)).toFixed(-decade) : String(digit * powerOfTen(decade));
}

function axisTitle({ label, unit }: AxisSpec, shift: number): string {
  const parts = [shift === 0 ? "" : `10^${shift}`, unit].filter((part) => part !== "");
  return parts.length === 0 ? label : `${label} (${parts.join(" ")})`;
}

/** Exact to the last bit, which 10 ** n isn't in every engine. */
function powerOfTen(n: number): number {
  return Number(`1e${n}`);
}

/** A true minus sign, and no sign on nothing. */
function signed(text: string): string {
  if (!text.startsWith("-")) return text;
  return Number(text) === 0 ? text.slice(1) : `\u2212${text.slice(1)}`;
}
