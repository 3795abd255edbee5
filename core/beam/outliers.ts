import { ln } from "../model/steady-math.ts";
import type { CountFrame } from "./count-frame.ts";

/** Twice the log-likelihood ratio of three or nine pixels together: six sigma. */
const CLEAR = 36;
const DARK = 0.6;
const BRIGHT = 1.5;
const GROUPS: readonly (readonly [number, number])[] = [
  [1, 0],
  [0, 1],
  [1, 1],
];

export interface Outliers {
  /** Pixels of groups that are far darker than expected, and far brighter. */
  readonly dark: number[];
  readonly bright: number[];
}

/**
 * Pixels that, with their neighbours (three in a row, three in a column, 3 x 3), have far fewer or far more counts than
 * expected: the shadow of an arm or a wire, and a leak. Of a group only those count that are as far off by themselves.
 *
 * @param expected counts a pixel; NaN where a pixel takes no part
 */
export function findOutliers({ width, height, counts }: CountFrame, expected: Float64Array): Outliers {
  const mark = new Int8Array(counts.length);
  for (let y = 1; y + 1 < height; y++) {
    for (let x = 1; x + 1 < width; x++) {
      const p = y * width + x;
      if (Number.isNaN(expected[p]!)) continue;
      for (const [halfX, halfY] of GROUPS) {
        let n = 0;
        let mu = 0;
        for (let j = -halfY; j <= halfY; j++)
          for (let i = -halfX; i <= halfX; i++) {
            n += counts[p + j * width + i]!;
            mu += expected[p + j * width + i]!;
          }
        // A comparison with NaN is false: groups that reach beyond the region are passed over.
        if (!(n < DARK * mu || n > BRIGHT * mu)) continue;
        if (!(2 * ((n > 0 ? n * ln(n / mu) : 0) - (n - mu)) > CLEAR)) continue;
        const side = n > mu ? 1 : -1;
        for (let j = -halfY; j <= halfY; j++)
          for (let i = -halfX; i <= halfX; i++) {
            const q = p + j * width + i;
            if (side > 0 ? counts[q]! > BRIGHT * expected[q]! : counts[q]! < DARK * expected[q]!) mark[q] = side;
          }
      }
    }
  }
  const out: Outliers = { dark: [], bright: [] };
  for (let p = 0; p < mark.length; p++) {
    if (mark[p] === -1) out.dark.push(p);
    if (mark[p] === 1) out.bright.push(p);
  }
  return out;
}
