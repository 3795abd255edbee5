import type { PixelArray } from "../model/frame.ts";

/** Counts and mask of one frame: all that the beam functions need. Row-major, width * height entries, mask 0 = use. */
export interface CountFrame {
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray;
  readonly mask: Uint16Array;
}

/** @throws RangeError where the lengths don't fit */
export function requireCountFrame({ width, height, counts, mask }: CountFrame): void {
  if (counts.length !== width * height || mask.length !== width * height)
    throw new RangeError(`${counts.length} counts and ${mask.length} mask entries for ${width} x ${height} pixels`);
}

/**
 * Sums over any box of pixels in constant time: tables of cumulated counts and of cumulated good pixels, one row and
 * one column larger than the frame.
 */
export interface BoxSums {
  readonly width: number;
  readonly height: number;
  readonly counts: Float64Array;
  readonly pixels: Float64Array;
}

export function boxSums(frame: CountFrame): BoxSums {
  requireCountFrame(frame);
  const { width, height } = frame;
  const stride = width + 1;
  const counts = new Float64Array(stride * (height + 1));
  const pixels = new Float64Array(stride * (height + 1));
  for (let y = 0; y < height; y++) {
    let rowCounts = 0;
    let rowPixels = 0;
    for (let x = 0; x < width; x++) {
      const p = y * width + x;
      if (frame.mask[p] === 0) {
        rowCounts += frame.counts[p]!;
        rowPixels++;
      }
      const k = (y + 1) * stride + x + 1;
      counts[k] = counts[k - stride]! + rowCounts;
      pixels[k] = pixels[k - stride]! + rowPixels;
    }
  }
  return { width, height, counts, pixels };
}

/** Sum over x0 <= x < x1, y0 <= y < y1 of one of the tables; the box is cut at the frame. */
export function boxSum(table: Float64Array, sums: BoxSums, x0: number, y0: number, x1: number, y1: number): number {
  const left = Math.max(0, x0);
  const low = Math.max(0, y0);
  const right = Math.min(sums.width, x1);
  const high = Math.min(sums.height, y1);
  if (right <= left || high <= low) return 0;
  const stride = sums.width + 1;
  return (
    table[high * stride + right]! -
    table[low * stride + right]! -
    table[high * stride + left]! +
    table[low * stride + left]!
  );
}
