import type { Bank, Frame } from "../model/frame.ts";
import { failure, type Result, success } from "../model/result.ts";

/** What is read of a bank's stack. */
export interface BankFrame {
  readonly frame: Frame;
  readonly frames: number | "sum";
  readonly warnings: readonly string[];
}

/**
 * One frame of a bank's stack, or the sum of all. Without a choice a stack over time is summed, with a warning; frames
 * that differ in wavelength or spin are not.
 */
export async function readBank(
  bank: Bank,
  wanted: number | "sum" | undefined,
  { signal, file, field }: { readonly signal: AbortSignal; readonly file: string; readonly field: string },
): Promise<Result<BankFrame>> {
  const place = { file, field: `${field}.frame` };
  const { frames, axis } = bank;
  if (frames < 1) return failure("missing", `${file} holds a stack without frames`, { file, field });
  if (typeof wanted === "number" && wanted >= frames)
    return failure(
      "out-of-range",
      `${file} has ${frames} frame${frames > 1 ? "s" : ""}, numbered from 0; there is no ${wanted}`,
      place,
    );
  if (wanted === undefined && frames > 1 && (axis.kind === "wavelength" || axis.kind === "spin"))
    return failure(
      "missing",
      `${file} has ${frames} frames that differ in ${axis.kind}: choose one by ${place.field}`,
      place,
    );

  if (frames === 1 || typeof wanted === "number") {
    const index = typeof wanted === "number" ? wanted : 0;
    const read = await bank.readFrame(index, signal);
    if (!read.ok) return read;
    const warnings =
      frames > 1
        ? [`frame ${index} of ${frames}: monitor and time must be those of this frame, not of the whole run`]
        : [];
    return success({ frame: read.value, frames: index, warnings });
  }
  const sum = await sumFrames(bank, signal);
  if (!sum.ok) return sum;
  const warnings = wanted === undefined ? [`${frames} frames were added up; choose one by ${place.field}`] : [];
  return success({ frame: sum.value, frames: "sum", warnings });
}

/** Counts and variances add; a pixel that one frame rules out is ruled out. One frame at a time is held. */
async function sumFrames(bank: Bank, signal: AbortSignal): Promise<Result<Frame>> {
  const size = bank.width * bank.height;
  const counts = new Float64Array(size);
  const mask = new Uint16Array(size);
  let variance: Float64Array | undefined;
  let last: Frame | undefined;
  const warnings = new Set<string>();
  for (let i = 0; i < bank.frames; i++) {
    signal.throwIfAborted();
    const read = await bank.readFrame(i, signal);
    if (!read.ok) return read;
    last = read.value;
    if (last.variance !== undefined) variance ??= counts.slice();
    for (let p = 0; p < size; p++) {
      mask[p]! |= last.mask[p]!;
      if (last.mask[p] !== 0) continue;
      counts[p]! += last.counts[p]!;
      if (variance !== undefined) variance[p]! += last.variance === undefined ? last.counts[p]! : last.variance[p]!;
    }
    for (const warning of last.warnings) warnings.add(warning);
  }
  if (last === undefined) throw new RangeError("a stack without frames");
  return success({ ...last, counts, mask, ...(variance && { variance }), warnings: [...warnings] });
}
