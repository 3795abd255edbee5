import type { Estimate } from "../../core/model/estimate.ts";

/** An estimate of raw counts: one frame, Poisson variance, no correction. */
export function rawEstimate(
  width: number,
  height: number,
  counts: Float64Array,
  norm: Float64Array = new Float64Array(counts.length).fill(1),
  mask: Uint16Array = new Uint16Array(counts.length),
): Estimate {
  return {
    width,
    height,
    mask,
    terms: [
      { role: "sample", counts, value: counts, variance: counts, coefficient: new Float64Array(counts.length).fill(1) },
    ],
    norm,
    common: [],
    background: 0,
  };
}
