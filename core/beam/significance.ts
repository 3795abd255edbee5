import betainc from "@stdlib/math-base-special-betainc";
import erfcinv from "@stdlib/math-base-special-erfcinv";
import gammainc from "@stdlib/math-base-special-gammainc";
import { expm1, ln, log1p } from "../model/steady-math.ts";

/** Chance of n counts or more where b are expected, b known exactly: P(N >= n | b), the lower incomplete gamma. */
export function poissonTail(n: number, b: number): number {
  if (!(n > 0)) return 1;
  return b > 0 ? gammainc(b, n) : 0;
}

/**
 * The same where b is itself uncertain by sigma: as if b had been counted with b^2 / sigma^2 counts in a control region
 * b / sigma^2 times as large, n of n + n_off is binomial (Cousins, Linnemann & Tucker 2008, Nucl. Instrum. Methods A
 * 595, 480; from memory).
 */
export function uncertainPoissonTail(n: number, b: number, sigma: number): number {
  if (!(n > 0)) return 1;
  if (!(sigma > 1e-6 * Math.sqrt(b))) return poissonTail(n, b);
  const ratio = b / (sigma * sigma);
  return betainc(1 / (1 + ratio), n, b * ratio + 1);
}

/** Significance of an excess over a counted control region, alpha its scale: Li & Ma 1983, eq. 17 (from memory). */
export function liMaSignificance(on: number, off: number, alpha: number): number {
  const total = on + off;
  const first = on > 0 ? on * ln(((1 + alpha) / alpha) * (on / total)) : 0;
  const second = off > 0 ? off * ln((1 + alpha) * (off / total)) : 0;
  const z = Math.sqrt(Math.max(0, 2 * (first + second)));
  return on >= alpha * off ? z : -z;
}

/** Chance that the best of `trials` independent tests is as good as one with chance p: 1 - (1 - p)^m, exact for tiny p. */
export function globalChance(p: number, trials: number): number {
  return p >= 1 ? 1 : -expm1(trials * log1p(-p));
}

/** One-sided sigma of a normal distribution with that chance; at most 37 (the smallest number that is not 0). */
export function sigmaOfChance(p: number): number {
  return Math.SQRT2 * erfcinv(2 * Math.max(p, Number.MIN_VALUE));
}
