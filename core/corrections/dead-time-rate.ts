import { exp } from "../model/steady-math.ts";
/**
 * Counters that are blind for a time tau after an event. Rates in 1/s, tau in s.
 * Common practice; Knoll, "Radiation detection and measurement" (from memory), chapter on counting statistics.
 */
export type DeadTimeModel = "non-paralysable" | "paralysable";

/** Highest rate that can be observed: 1/tau, or 1/(e tau) where each event prolongs the dead time. */
export function highestObservedRate(model: DeadTimeModel, tau: number): number {
  return model === "non-paralysable" ? 1 / tau : 1 / (Math.E * tau);
}

/** Observed rate m of a true rate n: n/(1 + n tau), or n exp(-n tau). */
export function observedRate(model: DeadTimeModel, rate: number, tau: number): number {
  return model === "non-paralysable" ? rate / (1 + rate * tau) : rate * exp(-rate * tau);
}

/**
 * f = n/m, true over observed rate; for the paralysable counter on the branch below its maximum.
 * @returns NaN where the observed rate can't occur
 */
export function deadTimeFactor(model: DeadTimeModel, observed: number, tau: number): number {
  const m = observed * tau;
  if (model === "non-paralysable") return m < 1 ? 1 / (1 - m) : Number.NaN;
  return exp(trueOccupation(m));
}

/** x = n tau of a paralysable counter from m tau: the low root of x exp(-x) = m tau, by Newton's steps. */
function trueOccupation(m: number): number {
  const highest = 1 / Math.E;
  if (!(m <= highest * (1 + Number.EPSILON))) return Number.NaN;
  if (m >= highest) return 1;
  // Below the root the curve is concave, so steps from the left never pass it. Near the top the series in the distance
  // from it starts better: x = 1 - p + p^2/3, p = sqrt(2 (1 - e m)) (Corless et al. 1996, Adv. Comput. Math. 5, 329).
  const p = Math.sqrt(2 * (1 - Math.E * m));
  let x = m < 0.2 ? m : 1 - p + (p * p) / 3 - (11 / 72) * p * p * p;
  for (let i = 0; i < 50; i++) {
    const grown = exp(-x);
    const step = (x * grown - m) / (grown * (1 - x));
    x -= step;
    if (!(Math.abs(step) > 1e-15 * x)) break;
  }
  return x;
}

/**
 * Variance of the corrected over that of Poisson counts times f^2. A dead counter registers more evenly than Poisson:
 * the non-paralysable one so that sigma = f sqrt(C) (ratio 1), the paralysable one so that it is
 * f sqrt(C) sqrt(1 - 2 x exp(-x)) / (1 - x), x = n tau. Formula of the latter from memory, confirmed by simulation.
 */
export function deadTimeVarianceRatio(model: DeadTimeModel, observed: number, tau: number): number {
  if (model === "non-paralysable") return 1;
  const m = observed * tau;
  const x = trueOccupation(m);
  return (1 - 2 * m) / ((1 - x) * (1 - x));
}
