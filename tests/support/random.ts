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
