import mersenneTwister from "@stdlib/random-base-mt19937";
import poissonCount from "@stdlib/random-base-poisson";

/** Seeded random numbers of one simulation; the same seed gives the same numbers. */
export interface RandomSource {
  /** 0 <= u < 1 */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
  /** A Poisson count; 0 for a mean that is not > 0. */
  poisson(mean: number): number;
}

/** @param seed whole number > 0 */
export function randomSource(seed: number): RandomSource {
  if (!(Number.isInteger(seed) && seed > 0)) throw new RangeError(`seed must be a whole number > 0, not ${seed}`);
  const twister = mersenneTwister.factory({ seed });
  // 53 random bits: 27 of one draw, 26 of the next.
  const uniform = () => ((twister() >>> 5) * 0x4000000 + (twister() >>> 6)) / 0x20000000000000;
  const poisson = poissonCount.factory({ prng: uniform });
  return {
    uniform,
    // Box and Muller's transform; 1 - u keeps the logarithm away from 0.
    normal: () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
    poisson: (mean) => (mean > 0 ? poisson(mean) : 0),
  };
}
