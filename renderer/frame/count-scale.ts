import type { CountRange, FrameScale } from "../view-types.ts";

/**
 * A value's place between black and white is (g(v) - low) / (high - low), with g the scale's function. `low` and `high`
 * are already g of the range's ends: what the shader gets as uniforms.
 */
export interface ScaleEnds {
  readonly scale: FrameScale;
  readonly low: number;
  readonly high: number;
  /** Values are raised to this before g: the log of zero counts is nothing that can be drawn. */
  readonly floor: number;
}

/** How far a log scale reaches down where the range starts at or below zero, unless a count of 1 is within it. */
const LOG_DECADES = 6;

export function scaleEnds(scale: FrameScale, range: CountRange): ScaleEnds {
  const high = range.high > range.low ? range.high : range.low + 1;
  if (scale === "linear") return { scale, low: range.low, high, floor: Number.NEGATIVE_INFINITY };
  if (scale === "square-root") {
    const floor = Math.max(0, range.low);
    return { scale, low: Math.sqrt(floor), high: Math.sqrt(Math.max(high, floor + Number.MIN_VALUE)), floor };
  }
  const top = high > 0 ? high : 1;
  const floor = range.low > 0 ? range.low : logFloor(top);
  return { scale, low: Math.log(floor), high: Math.log(Math.max(top, floor * (1 + 1e-6))), floor };
}

/** Half a count where counts are shown; for small quantities some decades below the top. */
function logFloor(top: number): number {
  return top > 1 ? 0.5 : top * 10 ** -LOG_DECADES;
}

/** 0..1, clamped; NaN and infinities give NaN. */
export function scaledValue({ scale, low, high, floor }: ScaleEnds, value: number): number {
  if (!Number.isFinite(value)) return Number.NaN;
  const raised = value < floor ? floor : value;
  const g = scale === "linear" ? raised : scale === "log" ? Math.log(raised) : Math.sqrt(raised);
  return Math.min(1, Math.max(0, (g - low) / (high - low)));
}
