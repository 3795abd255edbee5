import type { Estimate } from "../model/estimate.ts";
import { addMask } from "../model/mask.ts";
import type { RunInputs } from "./correction.ts";

/**
 * The estimate of one run before any correction: its counts, Poisson variance (or the file's), norm 1.
 * Pixels that the file itself rules out are masked and hold 0, so that no NaN can spread.
 * @param mask bits that are to be added to the frame's own
 */
export function startEstimate({ role, frame }: RunInputs, mask?: Uint16Array): Estimate {
  const { width, height } = frame;
  const own = new Uint16Array(frame.mask);
  if (mask !== undefined) addMask(own, mask);
  const counts = new Float64Array(width * height);
  const variance = new Float64Array(width * height);
  for (let p = 0; p < counts.length; p++) {
    if (own[p] !== 0) continue;
    counts[p] = frame.counts[p]!;
    const spread = frame.variance === undefined ? counts[p]! : frame.variance[p]!;
    if (spread > 0) variance[p] = spread;
  }
  return {
    width,
    height,
    mask: own,
    terms: [{ role, counts, value: counts, variance, coefficient: new Float64Array(counts.length).fill(1) }],
    norm: new Float64Array(counts.length).fill(1),
    common: [],
    background: 0,
  };
}
