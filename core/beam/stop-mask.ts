import { MASK_REASONS } from "../model/mask.ts";
import type { StopOutline } from "../model/measured.ts";
import { square } from "./square.ts";
import { outlineShape, shadowFraction, shapeReach } from "./stop-shape.ts";

/** A pixel that loses less than this to the shadow shows no loss below some 1e6 counts. */
const MEASURABLE_SHADOW = 1e-3;
const OUTLINE_SIGMAS = 2;

/**
 * Pixels that the stop shadows measurably (MASK_REASONS.beamStop): all that lose more than a thousandth of their counts
 * to the outline blurred by its penumbra. The outline is first grown on every side by two sigma of its position and
 * half size. With a sharp edge this reaches 0.5 px beyond the outline (the pixel's own half), with a penumbra s about
 * 0.5 px + 2.5 s; towards the inside everything is masked.
 *
 * @param penumbra Gaussian sigma of the edges, px, >= 0
 * @throws RangeError on a penumbra that is negative or not a number
 */
export function beamStopMask(outline: StopOutline, penumbra: number, width: number, height: number): Uint16Array {
  if (!(penumbra >= 0)) throw new RangeError(`penumbra must be >= 0 px, not ${penumbra}`);
  const { kind, shape } = outlineShape(grow(outline), Math.max(penumbra, 1e-3));
  const mask = new Uint16Array(width * height);
  const reach = shapeReach(kind, shape);
  const derivatives = new Float64Array(8);
  const lastRow = Math.min(height - 1, Math.floor(outline.y + reach));
  const lastColumn = Math.min(width - 1, Math.floor(outline.x + reach));
  for (let y = Math.max(0, Math.ceil(outline.y - reach)); y <= lastRow; y++) {
    for (let x = Math.max(0, Math.ceil(outline.x - reach)); x <= lastColumn; x++) {
      if (shadowFraction(kind, shape, x, y, derivatives) > MEASURABLE_SHADOW)
        mask[y * width + x] = MASK_REASONS.beamStop;
    }
  }
  return mask;
}

function grow(outline: StopOutline): StopOutline {
  const position = Math.max(outline.xSigma ?? 0, outline.ySigma ?? 0);
  const margin = (sizeSigma: number | undefined): number =>
    OUTLINE_SIGMAS * Math.sqrt(position * position + square((sizeSigma ?? 0) / 2));
  if (outline.shape === "circle")
    return { ...outline, radius: outline.radius + margin(2 * (outline.radiusSigma ?? 0)) };
  return {
    ...outline,
    width: outline.width + 2 * margin(outline.widthSigma),
    height: outline.height + 2 * margin(outline.heightSigma),
  };
}
