import { ln } from "./steady-math.ts";

/** Shortest decimal that reads back as the same double; empty for a value that isn't known (NaN, infinite). */
export function shortest(value: number): string {
  if (!Number.isFinite(value)) return "";
  return String(value === 0 ? 0 : value);
}

/** 17 significant digits: enough for any double, and a fixed width for columns. "nan" for a value that isn't known. */
export function seventeenDigits(value: number): string {
  return Number.isFinite(value) ? value.toExponential(16) : "nan";
}

/** At most 9 significant digits: what a single-precision `xs:float` can hold. */
export function nineDigits(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`${value} has no place in an XML number`);
  return shortest(Number(value.toPrecision(9)));
}

/** A value for JSON, where there is no NaN: null says "not known", never 0. */
export function orNull(value: number | undefined): number | null {
  return value !== undefined && Number.isFinite(value) ? value : null;
}

const DEGREES_PER_RADIAN = 180 / Math.PI;

/** rad to degrees, 0 <= degrees < 360. */
export function azimuthDegrees(phi: number): number {
  const degrees = phi * DEGREES_PER_RADIAN;
  const wrapped = degrees - 360 * Math.floor(degrees / 360);
  // Rounding can carry a value just below a full turn onto it, and leave one just below 0 where it is.
  return wrapped >= 0 && wrapped < 360 ? wrapped : 0;
}

/** A part in 10^9: far above a logarithm's rounding, far below what an eye sees. */
const NUDGE = 1e-9;

/** The power of ten that a number > 0 begins with: 2 for 100 to 999, the same in every engine. */
export function decadeOf(value: number): number {
  return steadyFloor(ln(value) / Math.LN10);
}

/** The whole number at or below `value`, in which a value that misses a whole number by its last bits counts as that. */
export function steadyFloor(value: number): number {
  return Math.floor(value + NUDGE);
}

/**
 * A value with no more digits than its sigma supports: sigma to two significant digits, the value to the same place.
 * Without a sigma: four significant digits.
 */
export function withSigma(value: number, sigma: number | undefined): string {
  if (!Number.isFinite(value)) return "not known";
  if (sigma === undefined || !(sigma > 0) || !Number.isFinite(sigma)) return readable(value);
  const places = Math.max(0, 1 - decadeOf(sigma));
  if (places > 8 || Math.abs(value) >= 1e7) return `${value.toExponential(3)} ± ${sigma.toExponential(1)}`;
  return `${value.toFixed(places)} ± ${sigma.toFixed(places)}`;
}

/** Four significant digits, without an exponent where the number stays short. */
export function readable(value: number): string {
  if (!Number.isFinite(value)) return "not known";
  if (value === 0) return "0";
  const size = Math.abs(value);
  if (size >= 1e6 || size < 1e-4) return value.toExponential(3);
  if (Number.isInteger(value)) return String(value);
  return String(Number(value.toPrecision(4)));
}
