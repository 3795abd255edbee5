/** A number as people read it, without its unit. */
export interface MeasuredText {
  readonly value: string;
}

const MINUS = "−";
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

/** With at most so many significant digits; powers of ten for the very large and the very small. */
export function significant(value: number, digits: number): string {
  if (!Number.isFinite(value)) return Number.isNaN(value) ? "not a number" : "infinite";
  if (value === 0) return "0";
  const power = Math.floor(Math.log10(Math.abs(value)));
  if (power >= -4 && power < Math.max(digits, 6)) return signed(String(Number(value.toPrecision(digits))));
  return scientific(value, power, digits - 1);
}

/** No more digits than sigma supports: two of sigma's own. */
export function measured(value: number, sigma: number): MeasuredText {
  if (!(sigma > 0 && Number.isFinite(value))) return { value: significant(value, 4) };
  const last = Math.floor(Math.log10(sigma)) - 1;
  const power = value === 0 ? last : Math.floor(Math.log10(Math.abs(value)));
  if (power >= -4 && power < 6) return { value: signed(value.toFixed(Math.min(20, Math.max(0, -last)))) };
  return { value: scientific(value, power, Math.min(15, Math.max(0, power - last))) };
}

/** "3.2·10⁻⁵" */
function scientific(value: number, power: number, decimals: number): string {
  const mantissa = (value / 10 ** power).toFixed(Math.max(0, decimals));
  return `${signed(mantissa)}·10${raised(power)}`;
}

/** An exponent in raised digits. */
export function raised(power: number): string {
  return [...String(power)].map((digit) => RAISED[digit] ?? "").join("");
}

/** With a true minus sign. */
export function signed(text: string): string {
  return text.replace("-", MINUS);
}
