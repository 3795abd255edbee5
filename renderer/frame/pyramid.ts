import type { PixelArray } from "../../core/model/frame.ts";

/** Level 0 is the frame; a texel of level k is the largest unmasked value of 2^k x 2^k pixels. */
export interface PyramidLevel {
  readonly width: number;
  readonly height: number;
  readonly values: Float32Array<ArrayBuffer>;
  /** 255: every pixel below is masked; else 0. */
  readonly masked: Uint8Array<ArrayBuffer>;
}

export function baseLevel(counts: PixelArray, mask: Uint16Array, width: number, height: number): PyramidLevel {
  if (counts.length !== width * height || mask.length !== width * height)
    throw new RangeError(
      `${width} x ${height} pixels need that many counts and mask bits, not ${counts.length}, ${mask.length}`,
    );
  return { width, height, values: new Float32Array(counts), masked: maskBytes(mask) };
}

export function maskBytes(mask: Uint16Array): Uint8Array<ArrayBuffer> {
  const masked = new Uint8Array(mask.length);
  for (let p = 0; p < mask.length; p++) if (mask[p] !== 0) masked[p] = 255;
  return masked;
}

/**
 * The next level up. A value that isn't finite wins over any other, so that a bad pixel stays in sight; masked pixels
 * count only where there is nothing else.
 */
export function pooled(level: PyramidLevel): PyramidLevel {
  const width = Math.ceil(level.width / 2);
  const height = Math.ceil(level.height / 2);
  const values = new Float32Array(width * height);
  const masked = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const top = Math.min(2 * y + 1, level.height - 1);
    for (let x = 0; x < width; x++) {
      const right = Math.min(2 * x + 1, level.width - 1);
      let best = Number.NEGATIVE_INFINITY;
      let any = false;
      for (let j = 2 * y; j <= top; j++) {
        for (let i = 2 * x; i <= right; i++) {
          const p = j * level.width + i;
          if (level.masked[p] !== 0) continue;
          any = true;
          const value = level.values[p] as number;
          if (!Number.isFinite(value)) {
            best = Number.NaN;
            i = right;
            j = top;
          } else if (value > best) best = value;
        }
      }
      const out = y * width + x;
      if (any) values[out] = best;
      else masked[out] = 255;
    }
  }
  return { width, height, values, masked };
}

/** Levels made when they are first asked for. */
export class Pyramid {
  readonly #levels: PyramidLevel[];

  constructor(base: PyramidLevel) {
    this.#levels = [base];
  }

  level(k: number): PyramidLevel {
    let last = this.#levels.length - 1;
    while (last < k) {
      this.#levels.push(pooled(this.#levels[last] as PyramidLevel));
      last++;
    }
    return this.#levels[k] as PyramidLevel;
  }
}

/**
 * The level whose texels are at least one device pixel wide, so that none falls between two samples.
 * @param scale device pixels a frame pixel, along the axis where they are fewest
 */
export function levelFor(scale: number, width: number, height: number): number {
  if (!(scale > 0)) throw new RangeError(`scale must be > 0, not ${scale}`);
  const coarsest = Math.ceil(Math.log2(Math.max(width, height)));
  // A hair of slack: a scale of 1 that comes out as 0.9999999 must show the frame itself.
  const wanted = Math.ceil(-Math.log2(scale) - 1e-6);
  return Math.min(coarsest, Math.max(0, wanted));
}
