import type { Estimate } from "../model/estimate.ts";
import { cos, ln, sin } from "../model/steady-math.ts";

/** The unmasked pixels of an annulus, as the fits need them. Arrays run over these pixels. */
export interface RingPixels {
  readonly count: number;
  /** Index of the pixel in the frame. */
  readonly pixel: Int32Array;
  readonly signal: Float64Array;
  readonly norm: Float64Array;
  /**
   * Variance of the signal = gain * expected + floor + normVariance * (expected + background)^2, with the signal
   * expected = norm * intensity that a model gives, and the background as signal.
   */
  readonly gain: number;
  readonly floor: Float64Array;
  /** Relative variance of each norm that belongs to its pixel alone (counting of the flood); undefined: none. */
  readonly normVariance: Float64Array | undefined;
  /** Background that was subtracted from the intensity. */
  readonly background: number;
  /** cos phi and sin phi. */
  readonly cos: Float64Array;
  readonly sin: Float64Array;
  /** 1/angstrom */
  readonly q: Float64Array;
  /** ln(Q/mean Q of the ring) */
  readonly lnQ: Float64Array;
  /** Ring of about one pixel's width to which a pixel belongs: within it the intensity may depend on phi only. */
  readonly ring: Int32Array;
  readonly rings: number;
  /** Mean Q of each ring, 1/angstrom. */
  readonly ringQ: Float64Array;
  /** Cells that are fitted as one measurement each; undefined: every pixel by itself. */
  readonly cells: CellIndex | undefined;
}

/** Which cell each pixel belongs to, and the ring of each cell. */
export interface CellIndex {
  readonly count: number;
  readonly index: Int32Array;
  readonly ring: Int32Array;
}

/** 1/angstrom; from the first on, up to but not including the second. */
export interface QRange {
  readonly qMin: number;
  readonly qMax: number;
}

/** At most this many rings an annulus: more would cost time and gain nothing. */
const MAX_RINGS = 48;
/**
 * Pixels of a ring that has many are taken together in cells of a degree: the sums of Poisson counts are Poisson counts
 * with the sum of the expected ones, so that nothing is approximated, and a harmonic of order 6 loses 0.1 % of its weight.
 */
const CELLS_A_RING = 360;
const MANY = 2 * CELLS_A_RING;

/**
 * Collects the pixels with qMin <= Q < qMax.
 *
 * The variance follows the expected signal, not the counted one: weights made from counts pull every average down at
 * low counts. What blocked beam and cell add to it stands in `floor`: with signal = C + sum a_k C_k the sample's counts
 * are norm * I - sum a_k C_k, so that floor = sum (a_k^2 v_k - gain a_k C_k) over the other frames. It is spread over each
 * ring as the norm is: a pixel in which the cell counted many by chance would else have a small signal and a small weight
 * at once, and isotropic frames of few counts would look anisotropic too often.
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
  const { norm, background, normRelativeVariance } = estimate;
  const { qMin, qMax } = range;
  const rings = Math.max(1, Math.min(MAX_RINGS, Math.round((qMax - qMin) / qStep)));
  const pixel = pixelsInside(estimate, maps.q, range);
  const count = pixel.length;
  const gain = meanGain(estimate, pixel);
  const signal = new Float64Array(count);
  const others = new Float64Array(count);
  const ring = new Int32Array(count);
  const ringSums = { q: new Float64Array(rings), n: new Float64Array(rings) };
  for (let i = 0; i < count; i++) {
    const p = pixel[i]!;
    const q = maps.q[p]!;
    const r = Math.min(rings - 1, Math.floor(((q - qMin) / (qMax - qMin)) * rings));
    ring[i] = r;
    ringSums.q[r]! += q;
    ringSums.n[r]!++;
    signal[i] = -background * norm[p]!;
    // The background is subtracted from the intensity, but its counts are there and scatter.
    others[i] = gain * background * norm[p]!;
  }
  for (const [t, { coefficient, value, variance }] of estimate.terms.entries())
    for (let i = 0; i < count; i++) {
      const p = pixel[i]!;
      const a = coefficient[p]!;
      signal[i]! += a * value[p]!;
      if (t > 0) others[i]! += a * a * variance[p]! - gain * a * value[p]!;
    }
  const ringQ = ringSums.q.map((sum, r) => sum / ringSums.n[r]!);
  const at = (map: Float64Array) => {
    const values = new Float64Array(count);
    for (let i = 0; i < count; i++) values[i] = map[pixel[i]!]!;
    return values;
  };
  const q = at(maps.q);
  const phi = at(maps.phi);
  const norms = at(norm);
  return {
    count,
    pixel,
    signal,
    norm: norms,
    gain,
    floor: spreadOverRings(others, norms, ring, rings),
    normVariance: normRelativeVariance && at(normRelativeVariance),
    background,
    cos: phi.map((angle) => cos(angle)),
    sin: phi.map((angle) => sin(angle)),
    q,
    lnQ: q.map((value, i) => ln(value / ringQ[ring[i]!]!)),
    ring,
    rings,
    ringQ,
    cells: cellIndex(phi, ring, ringSums.n),
  };
}

/** The sum over each ring, shared out in proportion to the norms. */
function spreadOverRings(values: Float64Array, norm: Float64Array, ring: Int32Array, rings: number): Float64Array {
  const sums = { value: new Float64Array(rings), norm: new Float64Array(rings) };
  for (let i = 0; i < values.length; i++) {
    sums.value[ring[i]!]! += values[i]!;
    sums.norm[ring[i]!]! += norm[i]!;
  }
  const share = sums.value.map((value, r) => (value === 0 ? 0 : value / sums.norm[r]!));
  return norm.map((value, i) => value * share[ring[i]!]!);
}

function pixelsInside({ mask, norm }: Estimate, q: Float64Array, { qMin, qMax }: QRange): Int32Array {
  const inside = new Int32Array(q.length);
  let count = 0;
  for (let p = 0; p < q.length; p++)
    if (q[p]! >= qMin && q[p]! < qMax && mask[p] === 0 && norm[p]! > 0) inside[count++] = p;
  return inside.slice(0, count);
}

function cellIndex(phi: Float64Array, ring: Int32Array, pixelsOf: Float64Array): CellIndex | undefined {
  if (pixelsOf.every((pixels) => pixels <= MANY)) return undefined;
  const sizes = Int32Array.from(pixelsOf, (pixels) => (pixels > MANY ? CELLS_A_RING : pixels));
  const next = sizes.map((_, r) => sizes.subarray(0, r).reduce((sum, size) => sum + size, 0));
  const count = sizes.reduce((sum, size) => sum + size, 0);
  const first = next.slice();
  const ringOf = new Int32Array(count);
  const index = ring.map((r, i) => {
    const cell =
      pixelsOf[r]! > MANY
        ? first[r]! + (Math.floor((phi[i]! / (2 * Math.PI)) * CELLS_A_RING) % CELLS_A_RING)
        : next[r]!++;
    ringOf[cell] = r;
    return cell;
  });
  return { count, index, ring: ringOf };
}

/** Variance over value of the sample's own counts: 1 for raw counts, the dead-time factor after its correction. */
function meanGain(estimate: Estimate, inside: Int32Array): number {
  const sample = estimate.terms[0];
  if (sample === undefined) return 1;
  let [value, variance] = [0, 0];
  for (let i = 0; i < inside.length; i++) {
    value += sample.value[inside[i]!]!;
    variance += sample.variance[inside[i]!]!;
  }
  return value > 0 ? variance / value : 1;
}
