import { exp } from "../model/steady-math.ts";
import type { AutoMaskInput } from "./auto-mask.ts";

/** How far around a patch its level is read, px. */
const FARTHEST = 3;
/** Larger dark patches lie in more than one level of the halo; they are a shadow or a gap and need another cause. */
const LARGEST = 12;

/**
 * Pixels of small connected patches without a single count that chance does not explain: exp(-pixels * level) < limit.
 * The level is the smaller of two lower quartiles: of the pixels that touch the patch, and of those two and three
 * pixels away (which, unlike the touching ones, may be zero). So a patch inside a shadow or in a valley between peaks is
 * measured by the shadow or the valley, and a frame with few counts makes no dead pixels. A patch is four-connected and
 * ends at masked pixels.
 */
export function silentPatches(input: AutoMaskInput, limit: number): number[] {
  const { counts, mask } = input;
  const owner = new Int32Array(counts.length);
  const found: number[] = [];
  let patches = 0;
  for (let start = 0; start < counts.length; start++) {
    if (owner[start] !== 0 || mask[start] !== 0 || counts[start] !== 0) continue;
    const patch = growPatch(input, start, ++patches, owner);
    if (patch.length > LARGEST) continue;
    const { touching, near } = countsAround(input, patch, patches, owner);
    if (touching.length === 0 || near.length === 0) continue;
    const level = Math.min(lowerQuartile(touching), lowerQuartile(near));
    if (exp(-patch.length * level) < limit) for (const p of patch) found.push(p);
  }
  return found;
}

function growPatch(input: AutoMaskInput, first: number, id: number, owner: Int32Array): number[] {
  const { width, height, counts, mask } = input;
  const patch = [first];
  owner[first] = id;
  for (let k = 0; k < patch.length; k++) {
    const p = patch[k]!;
    const x = p % width;
    for (const q of [x > 0 ? p - 1 : -1, x + 1 < width ? p + 1 : -1, p - width, p + width]) {
      if (q < 0 || q >= width * height || mask[q] !== 0 || counts[q] !== 0 || owner[q] !== 0) continue;
      owner[q] = id;
      patch.push(q);
    }
  }
  return patch;
}

function countsAround(input: AutoMaskInput, patch: readonly number[], id: number, owner: Int32Array) {
  const { width, height, counts, mask } = input;
  // Chebyshev distance to the patch, for the pixels around it only.
  const distance = new Map<number, number>();
  for (const p of patch) {
    const x = p % width;
    const y = (p - x) / width;
    for (let row = Math.max(0, y - FARTHEST); row <= Math.min(height - 1, y + FARTHEST); row++) {
      for (let column = Math.max(0, x - FARTHEST); column <= Math.min(width - 1, x + FARTHEST); column++) {
        const q = row * width + column;
        if (mask[q] !== 0 || owner[q] === id) continue;
        const away = Math.max(Math.abs(row - y), Math.abs(column - x));
        const known = distance.get(q);
        if (known === undefined || away < known) distance.set(q, away);
      }
    }
  }
  const touching: number[] = [];
  const near: number[] = [];
  for (const [q, away] of distance) (away === 1 ? touching : near).push(counts[q]!);
  return { touching, near };
}

function lowerQuartile(values: number[]): number {
  return values.sort((a, b) => a - b)[values.length >> 2]!;
}
