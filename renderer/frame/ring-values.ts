/** Least distance between neighbouring rings, CSS px: room for a label. */
const LEAST_GAP = 64;
const MOST_RINGS = 8;

/**
 * Round Q values, evenly spaced by a step of 1, 2 or 5 times a power of ten.
 * @param qMax  largest Q in sight, 1/angstrom
 * @param reach distance on the screen from the beam centre to there, CSS px
 */
export function ringValues(qMax: number, reach: number): number[] {
  if (!(qMax > 0 && reach > 0)) return [];
  const step = roundStep(Math.max((qMax * LEAST_GAP) / reach, qMax / MOST_RINGS));
  const values: number[] = [];
  for (let n = 1; n * step <= qMax; n++) values.push(tidy(n * step, step));
  return values;
}

/** The least of 1, 2, 5 times a power of ten that is not below `least`. */
export function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  for (const factor of [1, 2, 5, 10]) if (factor * power >= least * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

/** 3 * 0.02 as 0.06 rather than 0.060000000000000005. */
function tidy(value: number, step: number): number {
  return Number(value.toFixed(decimals(step)));
}

/** Digits after the point that a value which is a multiple of `step` needs. */
export function decimals(step: number): number {
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
}
