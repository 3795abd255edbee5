import { scaleLinear, scaleLog } from "d3-scale";
import type { AxisScale } from "../view-types.ts";
import type { Domain } from "./domain.ts";

/** Axis value to CSS px and back. */
export interface Axis {
  readonly scale: AxisScale;
  to(value: number): number;
  from(pixel: number): number;
  readonly ticks: readonly Tick[];
  /** Numbers are to be multiplied by ten to this power; 0: they stand as they are. */
  readonly power: number;
}

export interface Tick {
  readonly value: number;
  readonly at: number;
  /** "" for a tick without a number. */
  readonly label: string;
}

export interface AxisOptions {
  readonly scale: AxisScale;
  readonly domain: Domain;
  /** CSS px of the domain's ends, in either order. */
  readonly range: readonly [number, number];
  /** CSS px between numbers, at least about. */
  readonly room: number;
  /** Ticks stand at multiples of the first of these that leaves them room (degrees: 45, 90). */
  readonly steps?: readonly number[] | undefined;
}

export function axisOf({ scale, domain, range, room, steps }: AxisOptions): Axis {
  const ends = [domain.low, domain.high];
  const length = Math.abs(range[1] - range[0]);
  if (scale === "log") {
    const log = scaleLog().domain(ends).range(range);
    const at = (value: number): number => log(value);
    return { scale, to: at, from: (pixel) => log.invert(pixel), ticks: logTicks(domain, at, length, room), power: 0 };
  }
  const linear = scaleLinear().domain(ends).range(range);
  const step = steps?.find((one) => (one * length) / (domain.high - domain.low) >= room);
  const values = step === undefined ? linear.ticks(Math.max(2, Math.floor(length / room))) : multiples(step, domain);
  const power = commonPower(values);
  const scaled = values.map((value) => value / 10 ** power);
  const digits = decimals((scaled[1] ?? 1) - (scaled[0] ?? 0));
  const ticks = values.map((value, i) => ({
    value,
    at: linear(value),
    label: value === 0 ? "0" : signed((scaled[i] as number).toFixed(digits)),
  }));
  return { scale, to: (value) => linear(value), from: (pixel) => linear.invert(pixel), ticks, power };
}

function multiples(step: number, { low, high }: Domain): number[] {
  const values: number[] = [];
  for (let n = Math.ceil(low / step); n * step <= high; n++) values.push(n * step);
  return values;
}

/** The power of ten that very large and very small numbers of an axis have in common: written once, in its label. */
function commonPower(values: readonly number[]): number {
  const most = values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  if (most === 0 || (most >= 1e-2 && most < 1e5)) return 0;
  return Math.floor(Math.log10(most) + 1e-9);
}

/** Digits after the point that multiples of a step need. */
function decimals(step: number): number {
  return step > 0 ? Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) : 0;
}

/** Powers of ten with numbers, 2 to 9 without; where there are few powers, 2 and 5 have numbers too. */
function logTicks(domain: Domain, at: (value: number) => number, length: number, room: number): Tick[] {
  const first = Math.floor(Math.log10(domain.low));
  const last = Math.ceil(Math.log10(domain.high));
  const decades = Math.log10(domain.high / domain.low);
  const perDecade = length / decades;
  // Every n-th power has a number where they stand too close.
  const every = Math.max(1, Math.ceil(room / perDecade));
  const withNumber = perDecade > 3.4 * room ? [1, 2, 5] : perDecade > 2.2 * room ? [1, 3] : [1];
  const ticks: Tick[] = [];
  for (let power = first; power <= last; power++) {
    for (let digit = 1; digit < 10; digit++) {
      const value = power < 0 ? digit / 10 ** -power : digit * 10 ** power;
      if (value < domain.low * (1 - 1e-9) || value > domain.high * (1 + 1e-9)) continue;
      if (digit > 1 && perDecade < 0.6 * room) continue;
      const numbered = withNumber.includes(digit) && (digit > 1 || power % every === 0);
      ticks.push({ value, at: at(value), label: numbered ? logNumber(digit, power) : "" });
    }
  }
  return ticks;
}

function logNumber(digit: number, power: number): string {
  const value = power < 0 ? digit / 10 ** -power : digit * 10 ** power;
  if (power >= -4 && power <= 4) return String(Number(value.toPrecision(2)));
  return digit === 1 ? `10${raised(power)}` : `${digit}·10${raised(power)}`;
}

function signed(text: string): string {
  return text.replace("-", "−");
}

const RAISED: Readonly<Record<string, string>> = {
  "-": "⁻",
  "0": "⁰",
  "1": "¹",
  "2": "²",
  "3": "³",
  "4": "⁴",
  "5": "⁵",
  "6": "⁶",
  "7": "⁷",
  "8": "⁸",
  "9": "⁹",
};

/** An exponent in raised digits. */
export function raised(power: number): string {
  return [...String(power)].map((digit) => RAISED[digit] ?? "").join("");
}
