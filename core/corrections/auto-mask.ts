import betainc from "@stdlib/math-base-special-betainc";
import type { PixelArray } from "../model/frame.ts";
import { MASK_REASONS } from "../model/mask.ts";
import { ln } from "../model/steady-math.ts";
import { silentPatches } from "./silent-patches.ts";

export interface AutoMask {
  /** MASK_REASONS.hot or .dead; row-major. */
  readonly mask: Uint16Array;
  readonly hot: number;
  readonly dead: number;
  /** What was found and how sure it is, one sentence each. */
  readonly reasons: readonly string[];
}

export interface AutoMaskInput {
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray;
  /** Pixels that are left out already (beam stop, edges): neither judged nor used as neighbours. */
  readonly mask: Uint16Array;
}

/** Chance of a false alarm in a whole frame, shared among its pixels. */
const FALSE_ALARM = 0.01;
/** Beyond what the neighbours' own range explains; uneven response stays below it. */
const OUT_OF_LINE = 1.5;
const NEIGHBOURS = 8;
/** Ranks among eight neighbours: the highest may be hot itself, the lowest dead. */
const SECOND = 1;

/**
 * Hot and dead pixels by counting statistics.
 *
 * A pixel is hot where both hold:
 * 1. Its count is too high for the good pixels of the 5 x 5 block around it: given the sum of both, it is binomial
 *    with probability 1 / (k + 1), k neighbours, whatever the rate; the chance is multiplied by the number of pixels
 *    (Bonferroni), so an empty frame makes no hot pixels and a low-count frame few claims.
 * 2. It is more than 1.5 D times its second-highest direct neighbour (plus twice that count's sigma), D the ratio of
 *    the second-highest to the second-lowest: a peak that is steep from pixel to pixel has steep neighbours too. A
 *    Gaussian peak that stands on nothing is below that at every width and place in the pixel grid; on a background a
 *    peak narrower than a sigma of about 0.7 px is not told from a hot pixel.
 * Dead is the same downwards, and in addition a small connected patch of pixels without a count that chance does not
 * explain (silent-patches.ts); that finds dead corners and dead groups.
 */
export function autoMask(input: AutoMaskInput, kinds: readonly ("hot" | "dead")[]): AutoMask {
  const { width, height, counts, mask: given } = input;
  if (counts.length !== width * height || given.length !== width * height)
    throw new RangeError(`${counts.length} counts and ${given.length} mask entries for ${width} x ${height} pixels`);
  const mask = new Uint16Array(width * height);
  let judged = 0;
  for (let p = 0; p < given.length; p++) if (given[p] === 0) judged++;
  const limit = FALSE_ALARM / Math.max(1, judged);
  const around = new Float64Array(NEIGHBOURS);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const p = y * width + x;
      if (given[p] !== 0) continue;
      const near = sortedNeighbours(input, x, y, around);
      if (near < NEIGHBOURS / 2) continue;
      const low = around[SECOND]!;
      const high = around[near - 1 - SECOND]!;
      const range = OUT_OF_LINE * ((high + 1) / (low + 1));
      const n = counts[p]!;
      if (n > range * (high + 2 * Math.sqrt(high) + 1)) {
        if (kinds.includes("hot") && chance(input, x, y, "high") < limit) mask[p] = MASK_REASONS.hot;
      } else if (n * range < low - 2 * Math.sqrt(low)) {
        if (kinds.includes("dead") && chance(input, x, y, "low") < limit) mask[p] = MASK_REASONS.dead;
      }
    }
  }
  if (kinds.includes("dead")) for (const p of silentPatches(input, limit)) mask[p]! |= MASK_REASONS.dead;
  let hot = 0;
  let dead = 0;
  for (let p = 0; p < mask.length; p++) {
    if ((mask[p]! & MASK_REASONS.hot) !== 0) hot++;
    if ((mask[p]! & MASK_REASONS.dead) !== 0) dead++;
  }
  return { mask, hot, dead, reasons: sentences(input, kinds, { hot, dead, judged, limit }) };
}

/** Counts of the good direct neighbours, in rising order; returns how many. */
function sortedNeighbours(input: AutoMaskInput, x: number, y: number, out: Float64Array): number {
  let found = 0;
  for (let row = Math.max(0, y - 1); row <= Math.min(input.height - 1, y + 1); row++) {
    for (let column = Math.max(0, x - 1); column <= Math.min(input.width - 1, x + 1); column++) {
      const q = row * input.width + column;
      if ((row === y && column === x) || input.mask[q] !== 0) continue;
      let k = found++;
      const n = input.counts[q]!;
      // Insertion: eight numbers at most.
      for (; k > 0 && out[k - 1]! > n; k--) out[k] = out[k - 1]!;
      out[k] = n;
    }
  }
  return found;
}

/**
 * Chance of a count at least as high (or as low) as the pixel's, given its 5 x 5 block. Binomial tails by the
 * regularised incomplete beta function: P(X >= n | m, q) = I_q(n, m - n + 1).
 */
function chance(input: AutoMaskInput, x: number, y: number, side: "high" | "low"): number {
  const { width, height, counts, mask } = input;
  let pixels = 0;
  let sum = 0;
  for (let row = Math.max(0, y - 2); row <= Math.min(height - 1, y + 2); row++) {
    for (let column = Math.max(0, x - 2); column <= Math.min(width - 1, x + 2); column++) {
      const q = row * width + column;
      if ((row === y && column === x) || mask[q] !== 0) continue;
      pixels++;
      sum += counts[q]!;
    }
  }
  const n = Math.round(counts[y * width + x]!);
  const others = Math.round(sum);
  const share = 1 / (pixels + 1);
  if (side === "high") return n > 0 ? betainc(share, n, others + 1) : 1;
  return others > 0 ? betainc(1 - share, others, n + 1) : 1;
}

function sentences(
  { counts, mask }: AutoMaskInput,
  kinds: readonly ("hot" | "dead")[],
  { hot, dead, judged, limit }: { hot: number; dead: number; judged: number; limit: number },
): string[] {
  const out: string[] = [];
  const sure = `chance of a single false alarm in the frame below ${FALSE_ALARM}`;
  if (kinds.includes("hot")) out.push(`${hot} hot of ${judged} pixels: far above their neighbours; ${sure}`);
  if (kinds.includes("dead")) {
    out.push(`${dead} dead of ${judged} pixels: far below their neighbours, or silent together; ${sure}`);
    let total = 0;
    for (let p = 0; p < mask.length; p++) if (mask[p] === 0) total += counts[p]!;
    const mean = total / Math.max(1, judged);
    // A silent pixel has chance exp(-mean).
    const needed = -ln(limit);
    if (mean < needed)
      out.push(
        `at ${mean.toPrecision(2)} counts a pixel a single dead pixel cannot be told from chance (about ${Math.ceil(needed)} are needed): use a flood or a longer run`,
      );
  }
  return out;
}
