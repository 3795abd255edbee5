import { findDirectBeam } from "./centre-of-mass.ts";
import type { CountFrame } from "./count-frame.ts";
import { square } from "./square.ts";

/** Scattering rises towards the beam, but not by this factor over the width of the beam; common practice, no source. */
const MOST_RISE = 5;
const CLEAR_SIGMAS = 6;
/** Ring around the footprint that stands for the surroundings, px beyond its edge. */
const RING_FROM = 2;
const RING_WIDTH = 6;

/**
 * Direct beam on the bank: the counts in the footprint that the direct-beam run shows, against what a ring around it
 * leads to expect. Sees what the fit of the shadow cannot: a beam so strong that no outline is left, or a few pixels of
 * it that the fit takes for bad ones.
 *
 * @returns undefined where nothing stands out, or where the footprint or the ring is masked
 */
export function exposedBeam(
  frame: CountFrame,
  directBeam: CountFrame,
): { readonly counts: number; readonly expected: number } | undefined {
  const beam = findDirectBeam(directBeam);
  if (!beam.ok) return undefined;
  const { x, y, edgeRadius } = beam.value;
  const sums = { counts: 0, pixels: 0, ringCounts: 0, ringPixels: 0 };
  for (let row = 0; row < frame.height; row++)
    for (let column = 0; column < frame.width; column++) {
      const p = row * frame.width + column;
      if (frame.mask[p] !== 0) continue;
      const away = Math.sqrt(square(column - x) + square(row - y)) - edgeRadius;
      if (away <= 0) {
        sums.counts += frame.counts[p]!;
        sums.pixels++;
      } else if (away > RING_FROM && away <= RING_FROM + RING_WIDTH) {
        sums.ringCounts += frame.counts[p]!;
        sums.ringPixels++;
      }
    }
  if (sums.pixels === 0 || sums.ringPixels === 0) return undefined;
  const expected = (sums.ringCounts * sums.pixels) / sums.ringPixels;
  const most = MOST_RISE * expected;
  return sums.counts - most > CLEAR_SIGMAS * Math.sqrt(Math.max(1, most))
    ? { counts: sums.counts, expected }
    : undefined;
}
