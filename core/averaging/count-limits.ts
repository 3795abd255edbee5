import gammainc from "@stdlib/math-base-special-gammainc";
import { ln } from "../model/steady-math.ts";

const HALVINGS = 200;

/**
 * Central limits of the mean of a Poisson law of which `counts` were seen: the mean below which so many or more, and the
 * mean above which so few or fewer, are seen with chance (1 - level)/2. Garwood 1936, Biometrika 28, 437; Gehrels 1986,
 * Astrophys. J. 303, 336.
 *
 * @param counts whole number >= 0
 * @param level 0 < level < 1, e.g. 0.6827
 */
export function countLimits(counts: number, level: number): { readonly lower: number; readonly upper: number } {
  if (!(Number.isInteger(counts) && counts >= 0 && level > 0 && level < 1))
    throw new RangeError(`limits of ${counts} counts at ${level}`);
  const tail = (1 - level) / 2;
  if (counts === 0) return { lower: 0, upper: -ln(tail) };
  // P(N >= n; mu) is the lower incomplete gamma function of n at mu and grows with mu.
  return { lower: meanAt(counts, tail), upper: meanAt(counts + 1, 1 - tail) };
}

/** The mean at which `n` or more counts are seen with the given chance. */
function meanAt(n: number, chance: number): number {
  let [low, high] = [0, n + 40 * Math.sqrt(n) + 40];
  for (let k = 0; k < HALVINGS; k++) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (gammainc(middle, n) < chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
