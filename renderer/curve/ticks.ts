import { scaleLinear, scaleLog } from "d3-scale";
import type { AxisScale } from "../view-types.ts";
import type { Domain } from "./domain.ts";

/** Axis value to CSS px and back. */
export interface Axis {
  readonly scale: AxisScale;
  to(value: number): number;
  from(pixel: number): number;
  readonly ticks: readonly Tick[];
}

export interface Tick {
  readonly value: number;
  readonly at: number;
  /** "" for a tick without a number. */
  readonly label: string;
}

/** @param range CSS px of the domain's ends, in either order */
export function axisOf(scale: AxisScale, domain: Domain, range: readonly [number, number], room: number): Axis {
  const ends = [domain.low, domain.high];
  const length = Math.abs(range[1] - range[0]);
  const wanted = Math.max(2, Math.floor(length / room));
  if (scale === "linear") {
    const linear = scaleLinear().domain(ends).range(range);
    const values = linear.ticks(wanted);
    const step = (values[1] ?? 1) - (values[0] ?? 0);
    const ticks = values.map((value) => ({ value, at: linear(value), label: plainNumber(value, step) }));
    return { scale, to: linear, from: (pixel) => linear.invert(pixel), ticks };
  }
  const log = scaleLog().domain(ends).range(range);
  const at = (value: number): number => log(value);
  return { scale, to: at, from: (pixel) => log.invert(pixel), ticks: logTicks(domain, at, length, room) };
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
  if (power >= -3 && power <= 3) return String(Number(value.toPrecision(2)));
  return digit === 1 ? `10${raised(power)}` : `${digit}·10${raised(power)}`;
}

/** As many digits as the step between ticks needs; powers of ten for the very large and small. */
function plainNumber(value: number, step: number): string {
  if (value === 0) return "0";
  const size = Math.max(Math.abs(value), Math.abs(step));
  const digits = Math.max(0, -Math.floor(Math.log10(Math.abs(step)) + 1e-9));
  if (size < 1e5 && digits <= 4) return signed(value.toFixed(digits));
  const power = Math.floor(Math.log10(Math.abs(value)) + 1e-9);
  const mantissaDigits = Math.max(0, power - Math.floor(Math.log10(Math.abs(step)) + 1e-9));
  return `${signed((value / 10 ** power).toFixed(mantissaDigits))}·10${raised(power)}`;
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

function raised(power: number): string {
  return [...String(power)].map((digit) => RAISED[digit] ?? "").join("");
}
