import type { Bank, Frame, PixelArray, Run, StackAxis } from "../../core/model/frame.ts";
import type { RunMetadata, Sourced } from "../../core/model/metadata.ts";
import type { RunReference } from "../../core/model/plan.ts";
import { failure, success } from "../../core/model/result.ts";
import type { RunSource } from "../../core/plan/reduction.ts";

/** A run in memory: one bank, one frame unless more are given. */
export interface RunParts {
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray | readonly PixelArray[];
  readonly variance?: Float64Array;
  readonly mask?: Uint16Array;
  readonly counting?: boolean;
  readonly metadata?: RunMetadata;
  readonly axis?: StackAxis;
  readonly rowOrder?: Frame["rowOrder"];
  readonly transpose?: boolean;
  readonly warnings?: readonly string[];
  readonly onClose?: () => void;
}

export function buildRun(name: string, parts: RunParts): Run {
  const { width, height, mask, variance, rowOrder = "bottom-up", transpose = false } = parts;
  const frames = ArrayBuffer.isView(parts.counts) ? [parts.counts] : parts.counts;
  const bank: Bank = {
    name: "bank",
    path: "/entry/data",
    width,
    height,
    frames: frames.length,
    axis: parts.axis ?? { kind: frames.length > 1 ? "frame" : "none" },
    counting: parts.counting ?? true,
    rowOrder,
    transpose,
    metadata: {},
    readFrame: async (index) =>
      success({
        width,
        height,
        rowOrder,
        transpose,
        counts: frames[index]!,
        mask: mask ?? new Uint16Array(width * height),
        ...(variance && { variance }),
        warnings: [],
      }),
  };
  return {
    name,
    format: "memory",
    formatTitle: "in memory",
    banks: [bank],
    metadata: parts.metadata ?? {},
    alternatives: {},
    notes: [],
    warnings: parts.warnings ?? [],
    close: () => parts.onClose?.(),
  };
}

/** A value as a file would give it. */
export function inFile<T>(value: T, from = "/entry/value"): Sourced<T> {
  return { value, from };
}

/** Files by name. The hash of a file is its name, so that two names are two measurements. */
export function memorySource(
  files: Readonly<Record<string, RunParts>>,
  masks: Readonly<
    Record<string, { readonly width: number; readonly height: number; readonly masked: Uint8Array }>
  > = {},
): RunSource & { readonly opened: string[] } {
  const opened: string[] = [];
  return {
    opened,
    async openRun(reference: RunReference) {
      const file = typeof reference === "string" ? reference : reference.file;
      opened.push(file);
      const parts = files[file];
      if (parts === undefined) return failure("unreadable", `${file} is not there`, { file });
      return success({ run: buildRun(file, parts), file, sha256: `hash of ${file}` });
    },
    async openMask(path) {
      const found = masks[path];
      return found === undefined
        ? failure("unreadable", `${path} is not there`)
        : success({ ...found, sha256: `hash of ${path}` });
    },
  };
}
