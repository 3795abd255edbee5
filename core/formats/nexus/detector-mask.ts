import { MASK_REASONS } from "../../model/mask.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { fieldOf } from "./fields.ts";
import type { Tree, TreeGroup } from "./tree.ts";

export interface DetectorMask {
  /** The file's mask for a frame, in our bits; a fresh array each time. */
  maskOf(frame: number): Result<Uint16Array>;
  readonly saturation: number | undefined;
  readonly underload: number | undefined;
}

/** Bits of NXdetector/pixel_mask: bits 0-15 reject a pixel, 16-31 only inform. */
const REJECT = 0xffff;
const BIT_REASONS: readonly (readonly [bit: number, reason: number])[] = [
  [0, MASK_REASONS.gap],
  [1, MASK_REASONS.dead],
  [2, MASK_REASONS.dead],
  [3, MASK_REASONS.hot],
  [4, MASK_REASONS.hot],
  [8, MASK_REASONS.beamStop],
];
const NAMED_BITS = BIT_REASONS.reduce((bits, [bit]) => bits | (1 << bit), 0);
const MASK_NAMES = /^pixel_mask(_\d+)?$/;

/**
 * Reads pixel_mask, pixel_mask_2, ... (all ORed) and the limits of valid values of an NXdetector.
 * A mask has the shape of a frame, or one such a frame.
 */
export function detectorMask(
  tree: Tree,
  detector: TreeGroup | undefined,
  width: number,
  height: number,
  frames: number,
): Result<DetectorMask> {
  const masks =
    detector === undefined ? [] : [...detector.datasets.values()].filter(({ path }) => MASK_NAMES.test(lastName(path)));
  const perFrame: { path: string; isStack: boolean }[] = [];
  for (const { path, shape } of masks) {
    const kept = shape.filter((n) => n > 1);
    const isList = kept.length === 1 && kept[0] === height * width;
    const isPlain = isList || (kept.length === 2 && kept[0] === height && kept[1] === width);
    const isStack = kept.length === 3 && kept[0] === frames && kept[1] === height && kept[2] === width;
    if (!isPlain && !isStack)
      return failure(
        "inconsistent",
        `${path} is ${shape.join(" x ")}; the frame is ${height} x ${width} (rows x columns)`,
        {
          file: tree.file.name,
          field: path,
        },
      );
    perFrame.push({ path, isStack });
  }
  return success({
    saturation: limit(tree, detector, "saturation_value"),
    underload: limit(tree, detector, "underload_value"),
    maskOf(frame) {
      const mask = new Uint16Array(width * height);
      for (const { path, isStack } of perFrame) {
        const shape = masks.find((dataset) => dataset.path === path)!.shape;
        const stackDimension = shape.findIndex((n) => n > 1);
        const slice = shape.map((n, d) =>
          isStack && d === stackDimension ? ([frame, frame + 1] as const) : ([0, n] as const),
        );
        const bits = tree.file.read(path, slice);
        if (!bits.ok) return bits;
        // ToInt32 keeps the low 32 bits, so that bit 31 of an unsigned mask and the sign of a signed one do no harm.
        for (let p = 0; p < mask.length; p++) mask[p]! |= reasonsOf(bits.value[p]! | 0);
      }
      return success(mask);
    },
  });
}

/** Our mask bits for one value of pixel_mask. */
export function reasonsOf(bits: number): number {
  const rejecting = bits & REJECT;
  if (rejecting === 0) return 0;
  let reasons = (rejecting & ~NAMED_BITS) !== 0 ? MASK_REASONS.file : 0;
  for (const [bit, reason] of BIT_REASONS) if ((rejecting & (1 << bit)) !== 0) reasons |= reason;
  return reasons;
}

function limit(tree: Tree, detector: TreeGroup | undefined, name: string): number | undefined {
  const dataset = detector?.datasets.get(name);
  const field = dataset === undefined ? undefined : fieldOf(tree, dataset);
  return field?.values.length === 1 && Number.isFinite(field.values[0]) ? field.values[0] : undefined;
}

function lastName(path: string): string {
  return path.slice(path.lastIndexOf("/") + 1);
}
