import mt19937 from "@stdlib/random-base-mt19937";
import normal from "@stdlib/random-base-normal";
import poisson from "@stdlib/random-base-poisson";

/** Seeded Poisson draws; the same seed gives the same sequence everywhere. */
export function poissonSource(seed: number): (mean: number) => number {
  const draw = poisson.factory({ seed });
  return (mean) => (mean > 0 ? draw(mean) : 0);
}

export function normalSource(seed: number): (mean: number, sigma: number) => number {
  const draw = normal.factory(0, 1, { seed });
  return (mean, sigma) => mean + sigma * draw();
}

/** Seeded draws from 0 (included) to 1 (not included). */
export function uniformSource(seed: number): () => number {
  const draw = mt19937.factory({ seed });
  return () => draw() / 2 ** 32;
}
