import { type BoxSums, boxSum } from "./count-frame.ts";

/** A box that is darker than what surrounds it. Edges are pixel edges; x, y its centre, px. */
export interface DarkBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** How many sigma the least different side strip is brighter than the inside. */
  readonly contrast: number;
}

const LARGEST_SHARE = 0.5; // of the frame's side
const MOST_ELONGATED = 3;
const SIZE_STEP = 1.2;
/** Between the box and its side strips, so that the penumbra belongs to neither, px. */
const GAP = 1;
const LEAST_CONTRAST = 3;

/**
 * Looks for the shadow of a stop: boxes whose four side strips are all brighter than the inside. A halo that falls
 * off, however steep, is darker on its far side, so it makes no such box; a shadow does wherever it lies.
 *
 * Boxes of all sizes and places are tried on tables of sums. Returns the best, then the best that don't overlap it.
 *
 * @param most how many to return at most
 */
export function findDarkBoxes(sums: BoxSums, most: number): DarkBox[] {
  const sizes = boxSizes(Math.min(sums.width, sums.height) * LARGEST_SHARE);
  const best: DarkBox[] = [];
  for (const width of sizes) {
    for (const height of sizes) {
      if (Math.max(width, height) > MOST_ELONGATED * Math.min(width, height)) continue;
      searchSize(sums, width, height, most, best);
    }
  }
  return best;
}

function boxSizes(largest: number): number[] {
  const sizes: number[] = [];
  for (let size = 2; size <= largest; size = Math.max(size + 1, Math.round(size * SIZE_STEP))) sizes.push(size);
  return sizes;
}

function searchSize(sums: BoxSums, width: number, height: number, most: number, best: DarkBox[]): void {
  const step = Math.max(1, Math.floor(Math.min(width, height) / 6));
  for (let y0 = 1; y0 + height < sums.height; y0 += step) {
    for (let x0 = 1; x0 + width < sums.width; x0 += step) {
      const contrast = boxContrast(sums, x0, y0, width, height);
      if (contrast < LEAST_CONTRAST) continue;
      if (best.length === most && contrast <= best[most - 1]!.contrast) continue;
      keep({ x: x0 + (width - 1) / 2, y: y0 + (height - 1) / 2, width, height, contrast }, most, best);
    }
  }
}

/** Sigma by which the inside's rate lies below that of its brightest-but-three side; -Infinity where a side is missing. */
function boxContrast(sums: BoxSums, x0: number, y0: number, width: number, height: number): number {
  const x1 = x0 + width;
  const y1 = y0 + height;
  const pixels = boxSum(sums.pixels, sums, x0, y0, x1, y1);
  if (pixels * 2 < width * height) return Number.NEGATIVE_INFINITY;
  const counts = boxSum(sums.counts, sums, x0, y0, x1, y1);
  const across = Math.max(2, Math.round(width / 4));
  const up = Math.max(2, Math.round(height / 4));
  let least = Number.POSITIVE_INFINITY;
  for (let side = 0; side < 4; side++) {
    const left = side === 0 ? x0 - GAP - across : side === 1 ? x1 + GAP : x0;
    const low = side === 2 ? y0 - GAP - up : side === 3 ? y1 + GAP : y0;
    const right = side < 2 ? left + across : x1;
    const high = side < 2 ? y1 : low + up;
    const sidePixels = boxSum(sums.pixels, sums, left, low, right, high);
    if (sidePixels * 2 < (right - left) * (high - low)) return Number.NEGATIVE_INFINITY;
    const sideCounts = boxSum(sums.counts, sums, left, low, right, high);
    const pooled = (counts + sideCounts) / (pixels + sidePixels);
    const difference = sideCounts / sidePixels - counts / pixels;
    const contrast = pooled > 0 ? difference / Math.sqrt(pooled * (1 / pixels + 1 / sidePixels)) : 0;
    if (contrast < least) least = contrast;
    if (least < LEAST_CONTRAST) return least;
  }
  return least;
}

/** Inserts by contrast; of two that overlap only the better stays. */
function keep(box: DarkBox, most: number, best: DarkBox[]): void {
  if (best.some((other) => overlap(box, other) && other.contrast >= box.contrast)) return;
  for (let i = best.length - 1; i >= 0; i--) if (overlap(box, best[i]!)) best.splice(i, 1);
  const place = best.findIndex((other) => other.contrast < box.contrast);
  best.splice(place < 0 ? best.length : place, 0, box);
  if (best.length > most) best.length = most;
}

function overlap(a: DarkBox, b: DarkBox): boolean {
  return (
    Math.abs(a.x - b.x) * 2 < a.width + b.width + 2 * GAP && Math.abs(a.y - b.y) * 2 < a.height + b.height + 2 * GAP
  );
}
