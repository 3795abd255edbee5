import type { Bank, Frame } from "../model/frame.ts";
import { type Result, success } from "../model/result.ts";

/** What the pixels that the file itself does not mask add up to. */
export interface FrameStatistics {
  /** Exact for whole counts, to the nearest float64. */
  readonly total: number;
  readonly max: number | null;
  /** Where the maximum is first met: frame, column, row. */
  readonly maxAt: { readonly frame: number; readonly x: number; readonly y: number } | null;
  readonly min: number | null;
  readonly zeros: number;
  /** Pixels that the file masks: gaps, dead, saturated, not finite. */
  readonly invalid: number;
  readonly pixels: number;
}

/** Sums of so many 32-bit counts stay below 2^53. */
const RUN = 2 ** 20;

/** Adds up frames one by one, so that a stack needs no more memory than one of its frames. */
export class StatisticsSum {
  #whole = 0n;
  #broken = 0;
  #max = Number.NEGATIVE_INFINITY;
  #min = Number.POSITIVE_INFINITY;
  #maxAt: FrameStatistics["maxAt"] = null;
  #zeros = 0;
  #invalid = 0;
  #pixels = 0;

  add(frame: Frame, index: number, counting: boolean): void {
    const { counts, mask, width } = frame;
    for (let start = 0; start < counts.length; start += RUN) {
      const end = Math.min(start + RUN, counts.length);
      let sum = 0;
      for (let p = start; p < end; p++) {
        if (mask[p] !== 0) {
          this.#invalid++;
          continue;
        }
        const value = counts[p]!;
        sum += value;
        if (value === 0) this.#zeros++;
        if (value < this.#min) this.#min = value;
        if (value > this.#max) {
          this.#max = value;
          this.#maxAt = { frame: index, x: p % width, y: Math.floor(p / width) };
        }
      }
      if (counting) this.#whole += BigInt(sum);
      else this.#broken += sum;
    }
    this.#pixels += counts.length;
  }

  result(): FrameStatistics {
    const isEmpty = this.#maxAt === null;
    return {
      total: Number(this.#whole) + this.#broken,
      max: isEmpty ? null : this.#max,
      maxAt: this.#maxAt,
      min: isEmpty ? null : this.#min,
      zeros: this.#zeros,
      invalid: this.#invalid,
      pixels: this.#pixels,
    };
  }
}

/** Over all frames of a bank, read one at a time; and the warnings that reading them gave, each once. */
export async function bankStatistics(
  bank: Bank,
  signal: AbortSignal,
): Promise<Result<{ readonly statistics: FrameStatistics; readonly warnings: readonly string[] }>> {
  const sum = new StatisticsSum();
  const warnings = new Set<string>();
  for (let index = 0; index < bank.frames; index++) {
    const frame = await bank.readFrame(index, signal);
    if (!frame.ok) return frame;
    sum.add(frame.value, index, bank.counting);
    for (const warning of frame.value.warnings) warnings.add(warning);
  }
  return success({ statistics: sum.result(), warnings: [...warnings] });
}
