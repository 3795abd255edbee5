import type { Frame, Orientation, PixelArray } from "../model/frame.ts";
import { MASK_REASONS } from "../model/mask.ts";

export interface FrameParts extends Orientation {
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray;
  readonly variance?: Float64Array;
  /** True where values are whole counts: then negative ones are flags, not counts. */
  readonly counting: boolean;
  /** Mask bits that the file gives; changed in place. */
  readonly mask?: Uint16Array;
  /** Values above are saturated, values below unusable. */
  readonly saturation?: number | undefined;
  readonly underload?: number | undefined;
  readonly warnings?: readonly string[];
}

/** Values of integer pixels that stand for something else than a count: common practice of area detectors, no source. */
const GAP_FLAG = -1;
const FLAG_VALUES_SHOWN = 8;

/**
 * Makes a frame of what a reader found. Values that can't be counts become mask bits and are told of in a warning:
 * NaN and infinities, negative whole numbers (-1 a gap, any other a bad pixel), and values outside the stated range.
 *
 * @throws RangeError where `counts`, `mask` or `variance` do not have width * height entries
 */
export function makeFrame(parts: FrameParts): Frame {
  const { width, height, counts, counting, rowOrder, transpose } = parts;
  const n = width * height;
  const mask = parts.mask ?? new Uint16Array(n);
  if (counts.length !== n || mask.length !== n || (parts.variance !== undefined && parts.variance.length !== n))
    throw new RangeError(`frame of ${width} x ${height} pixels from ${counts.length} values, ${mask.length} mask bits`);
  const saturation = parts.saturation ?? Number.POSITIVE_INFINITY;
  const underload = parts.underload ?? Number.NEGATIVE_INFINITY;
  const flags = new Map<number, number>();
  let notFinite = 0;
  let saturated = 0;
  let below = 0;
  for (let p = 0; p < n; p++) {
    const value = counts[p]!;
    // NaN and both infinities fail this one comparison.
    if (!(value - value === 0)) {
      mask[p]! |= MASK_REASONS.notFinite;
      notFinite++;
    } else if (counting && value < 0) {
      mask[p]! |= value === GAP_FLAG ? MASK_REASONS.gap : MASK_REASONS.file;
      flags.set(value, (flags.get(value) ?? 0) + 1);
    } else if (value > saturation) {
      mask[p]! |= MASK_REASONS.saturated;
      saturated++;
    } else if (value < underload) {
      mask[p]! |= MASK_REASONS.file;
      below++;
    }
  }
  const warnings = [...(parts.warnings ?? [])];
  if (notFinite > 0) warnings.push(`${notFinite} pixels are not finite numbers: masked`);
  if (flags.size > 0) warnings.push(`negative values taken as flags: ${flagText(flags)}; masked`);
  if (saturated > 0) warnings.push(`${saturated} pixels above the saturation value ${saturation}: masked`);
  if (below > 0) warnings.push(`${below} pixels below the underload value ${underload}: masked`);
  if (mask.every((bits) => bits !== 0)) warnings.push("no usable pixel: the file masks them all");
  const frame = { width, height, counts, mask, rowOrder, transpose, warnings };
  return parts.variance === undefined ? frame : { ...frame, variance: parts.variance };
}

function flagText(flags: ReadonlyMap<number, number>): string {
  const sorted = [...flags].sort(([, a], [, b]) => b - a);
  const shown = sorted.slice(0, FLAG_VALUES_SHOWN).map(([value, times]) => `${value} in ${times} pixels`);
  return sorted.length > FLAG_VALUES_SHOWN
    ? `${shown.join(", ")} and ${sorted.length - FLAG_VALUES_SHOWN} more`
    : shown.join(", ");
}
