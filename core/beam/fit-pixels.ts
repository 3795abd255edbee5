import type { CountFrame } from "./count-frame.ts";

/** The pixels of a fit: positions in px and counts. */
export interface FitPixels {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly counts: Float64Array;
}

/** Collects the pixels that `use` accepts. */
export function fitPixels(frame: CountFrame, use: (x: number, y: number, p: number) => boolean): FitPixels {
  const x: number[] = [];
  const y: number[] = [];
  const counts: number[] = [];
  for (let row = 0; row < frame.height; row++) {
    for (let column = 0; column < frame.width; column++) {
      const p = row * frame.width + column;
      if (!use(column, row, p)) continue;
      x.push(column);
      y.push(row);
      counts.push(frame.counts[p]!);
    }
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y), counts: Float64Array.from(counts) };
}

/** Mean position of the counts above the median: near the beam where there is a halo. */
export function brightMiddle({ x, y, counts }: FitPixels): { x: number; y: number } {
  const median = counts.slice().sort()[counts.length >> 1]!;
  let sum = 0;
  let sumX = 0;
  let sumY = 0;
  for (let i = 0; i < counts.length; i++) {
    const above = counts[i]! - median;
    if (above <= 0) continue;
    // Squared, so that the few bright pixels outweigh the many that are bright by chance.
    sum += above * above;
    sumX += above * above * x[i]!;
    sumY += above * above * y[i]!;
  }
  return sum > 0 ? { x: sumX / sum, y: sumY / sum } : { x: x[x.length >> 1]!, y: y[y.length >> 1]! };
}

/** The pixels whose positions `use` accepts. */
export function selectPixels({ x, y, counts }: FitPixels, use: (x: number, y: number) => boolean): FitPixels {
  const chosen: number[] = [];
  for (let i = 0; i < counts.length; i++) if (use(x[i]!, y[i]!)) chosen.push(i);
  return {
    x: Float64Array.from(chosen, (i) => x[i]!),
    y: Float64Array.from(chosen, (i) => y[i]!),
    counts: Float64Array.from(chosen, (i) => counts[i]!),
  };
}
