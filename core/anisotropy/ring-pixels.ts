import type { Estimate } from "../model/estimate.ts";
import { cos, exp, ln, sin } from "../model/steady-math.ts";

/** The unmasked pixels of an annulus, as the fits need them. Arrays run over these pixels. */
export interface RingPixels {
  readonly count: number;
  /** Index of the pixel in the frame. */
  readonly pixel: Int32Array;
  readonly signal: Float64Array;
  readonly norm: Float64Array;
  /** Variance of the signal = gain * norm * intensity + floor, with the intensity that a model expects. */
  readonly gain: number;
  readonly floor: Float64Array;
  /** cos phi and sin phi. */
  readonly cos: Float64Array;
  readonly sin: Float64Array;
  /** 1/angstrom */
  readonly q: Float64Array;
  /** Ring of about one pixel's width to which a pixel belongs: within it the intensity may depend on phi only. */
  readonly ring: Int32Array;
  readonly rings: number;
  /** Mean Q of each ring, 1/angstrom. */
  readonly ringQ: Float64Array;
}

/** 1/angstrom; from the first on, up to but not including the second. */
export interface QRange {
  readonly qMin: number;
  readonly qMax: number;
}

/** At most this many rings an annulus: more would cost time and gain nothing. */
const MAX_RINGS = 48;

/**
 * Collects the pixels with qMin <= Q < qMax.
 *
 * The variance follows the expected signal, not the counted one: weights made from counts pull every average down at
 * low counts. What blocked beam and cell add to it stands in `floor`: with signal = C + sum a_k C_k the sample's counts
 * are norm * I - sum a_k C_k, so that floor = sum (a_k^2 v_k - gain a_k C_k) over the other frames.
 *
 * @param maps  Q (1/angstrom) and phi (rad) of each pixel
 * @param qStep Q from one pixel to the next, 1/angstrom: width of a ring
 */
export function ringPixels(
  estimate: Estimate,
  maps: { readonly q: Float64Array; readonly phi: Float64Array },
  range: QRange,
  qStep: number,
): RingPixels {
  const { mask, norm, background } = estimate;
  const { qMin, qMax } = range;
  const rings = Math.max(1, Math.min(MAX_RINGS, Math.round((qMax - qMin) / qStep)));
  const inside: number[] = [];
  for (let p = 0; p < mask.length; p++)
    if (mask[p] === 0 && norm[p]! > 0 && maps.q[p]! >= qMin && maps.q[p]! < qMax) inside.push(p);
  const count = inside.length;
  const gain = meanGain(estimate, inside);
  const pixels = {
    count,
    gain,
    pixel: Int32Array.from(inside),
    signal: new Float64Array(count),
    norm: new Float64Array(count),
    floor: new Float64Array(count),
    cos: new Float64Array(count),
    sin: new Float64Array(count),
    ring: new Int32Array(count),
    q: new Float64Array(count),
  };
  const ringSums = { q: new Float64Array(rings), n: new Float64Array(rings) };
  for (let i = 0; i < count; i++) {
    const p = inside[i]!;
    const q = maps.q[p]!;
    const ring = Math.min(rings - 1, Math.floor(((q - qMin) / (qMax - qMin)) * rings));
    let signal = -background * norm[p]!;
    // The background is subtracted from the intensity, but its counts are there and scatter.
    let floor = gain * background * norm[p]!;
    for (const [t, term] of estimate.terms.entries()) {
      const a = term.coefficient[p]!;
      const value = term.value[p]!;
      signal += a * value;
      if (t > 0) floor += a * a * term.variance[p]! - gain * a * value;
    }
    pixels.signal[i] = signal;
    pixels.norm[i] = norm[p]!;
    pixels.floor[i] = floor;
    pixels.cos[i] = cos(maps.phi[p]!);
    pixels.sin[i] = sin(maps.phi[p]!);
    pixels.ring[i] = ring;
    pixels.q[i] = q;
    ringSums.q[ring]! += q;
    ringSums.n[ring]!++;
  }
  const ringQ = ringSums.q.map((sum, r) => sum / ringSums.n[r]!);
  return { ...pixels, rings, ringQ };
}

/**
 * The same pixels with norms that follow the radial fall inside each ring: norm (Q/Q of the ring)^slope. The lattice of
 * pixels does not spread evenly over a ring, and a steep fall would otherwise look like harmonics.
 *
 * @param levels intensity of each ring
 */
export function followSlope(pixels: RingPixels, levels: Float64Array): RingPixels {
  const slopes = ringSlopes(pixels, levels);
  const norm = pixels.norm.map((value, i) => {
    const r = pixels.ring[i]!;
    return slopes[r] === 0 ? value : value * exp(slopes[r]! * ln(pixels.q[i]! / pixels.ringQ[r]!));
  });
  return { ...pixels, norm };
}

/** d ln I/d ln Q at each ring, from the levels of the rings around it; 0 where they do not tell. */
export function ringSlopes(pixels: RingPixels, levels: Float64Array): Float64Array {
  const { rings, ringQ } = pixels;
  const weight = new Float64Array(rings);
  for (let i = 0; i < pixels.count; i++) weight[pixels.ring[i]!]! += pixels.norm[i]!;
  // Means over three rings on either side keep the slope steady at low counts.
  const mean = (values: Float64Array, from: number) => {
    let [sum, total] = [0, 0];
    for (let r = Math.max(0, from); r < Math.min(rings, from + 3); r++) {
      if (!(weight[r]! > 0)) continue;
      sum += weight[r]! * values[r]!;
      total += weight[r]!;
    }
    return sum / total;
  };
  return ringQ.map((_, r) => {
    const [low, high] = [Math.min(r - 2, rings - 4), Math.max(r, 1)];
    const ratioI = mean(levels, high) / mean(levels, low);
    const ratioQ = mean(ringQ, high) / mean(ringQ, low);
    return ratioI > 0 && ratioQ > 1 && Number.isFinite(ratioI) ? ln(ratioI) / ln(ratioQ) : 0;
  });
}

/** Variance over value of the sample's own counts: 1 for raw counts, the dead-time factor after its correction. */
function meanGain(estimate: Estimate, inside: readonly number[]): number {
  const sample = estimate.terms[0];
  if (sample === undefined) return 1;
  let [value, variance] = [0, 0];
  for (const p of inside) {
    value += sample.value[p]!;
    variance += sample.variance[p]!;
  }
  return value > 0 ? variance / value : 1;
}
