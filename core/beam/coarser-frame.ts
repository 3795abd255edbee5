import type { CountFrame } from "./count-frame.ts";

/**
 * The frame in pixels of factor x factor old ones. A new pixel is good where all its old ones are (at the right and
 * upper rim: where they exist). Old coordinate = factor * new + (factor - 1) / 2.
 */
export function coarserFrame(frame: CountFrame, factor: number): CountFrame {
  if (factor === 1) return frame;
  const width = Math.floor(frame.width / factor);
  const height = Math.floor(frame.height / factor);
  const counts = new Float64Array(width * height);
  const mask = new Uint16Array(width * height);
  for (let row = 0; row < height * factor; row++) {
    const into = Math.floor(row / factor) * width;
    for (let column = 0; column < width * factor; column++) {
      const p = row * frame.width + column;
      const k = into + Math.floor(column / factor);
      if (frame.mask[p] === 0) counts[k]! += frame.counts[p]!;
      else mask[k]! |= frame.mask[p]!;
    }
  }
  return { width, height, counts, mask };
}

export function toFine(coordinate: number, factor: number): number {
  return factor * coordinate + (factor - 1) / 2;
}

export function toCoarse(coordinate: number, factor: number): number {
  return (coordinate - (factor - 1) / 2) / factor;
}
