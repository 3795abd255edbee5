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
