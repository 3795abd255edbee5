import type { Bank, Frame, PixelArray, Run, StackAxis } from "../model/frame.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import { makeFrame } from "./make-frame.ts";
import type { ReadChoice } from "./reader.ts";

/** A run of one bank whose file says little besides its pixels. */
export interface PlainRun {
  readonly name: string;
  readonly format: string;
  readonly formatTitle: string;
  readonly bankName: string;
  readonly path: string;
  readonly width: number;
  readonly height: number;
  readonly frames: number;
  readonly axis?: StackAxis;
  readonly counting: boolean;
  readonly rowOrder: "bottom-up" | "top-down";
  readonly transpose: boolean;
  readonly choice: ReadChoice;
  readonly metadata?: RunMetadata;
  readonly alternatives?: Run["alternatives"];
  readonly notes: readonly string[];
  readonly warnings?: readonly string[];
  readonly saturation?: number | undefined;
  /** Pixels of one frame, in stored order; a fresh array. */
  readPixels(index: number, signal: AbortSignal): Promise<Result<PixelArray>>;
  /** The file's own mask, as a fresh array. */
  readMask?(index: number): Promise<Result<Uint16Array>>;
}

export function plainRun(parts: PlainRun): Run {
  const { width, height, frames, counting, choice, path } = parts;
  const rowOrder = choice.rowOrder ?? parts.rowOrder;
  const transpose = choice.transpose ?? parts.transpose;
  const bank: Bank = {
    name: parts.bankName,
    path,
    width,
    height,
    frames,
    axis: parts.axis ?? { kind: frames > 1 ? "frame" : "none" },
    counting,
    rowOrder,
    transpose,
    metadata: parts.metadata ?? {},
    async readFrame(index, signal): Promise<Result<Frame>> {
      signal.throwIfAborted();
      if (!(Number.isInteger(index) && index >= 0 && index < frames))
        return failure("out-of-range", `${parts.name} has frames 0 to ${frames - 1}; there is no frame ${index}`, {
          file: parts.name,
        });
      const counts = await parts.readPixels(index, signal);
      if (!counts.ok) return counts;
      const mask = await parts.readMask?.(index);
      if (mask !== undefined && !mask.ok) return mask;
      return success(
        makeFrame({
          width,
          height,
          counts: counts.value,
          counting,
          rowOrder,
          transpose,
          saturation: parts.saturation,
          ...(mask !== undefined && { mask: mask.value }),
        }),
      );
    },
  };
  return {
    name: parts.name,
    format: parts.format,
    formatTitle: parts.formatTitle,
    banks: [bank],
    metadata: {},
    alternatives: parts.alternatives ?? {},
    notes: parts.notes,
    warnings: parts.warnings ?? [],
    close: () => undefined,
  };
}
