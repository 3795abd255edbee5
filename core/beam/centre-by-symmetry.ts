import { addMask, MASK_REASONS } from "../model/mask.ts";
import { failure, type Result, success } from "../model/result.ts";
import { coarserFrame, toCoarse, toFine } from "./coarser-frame.ts";
import { type CountFrame, requireCountFrame } from "./count-frame.ts";
import { fitPixels } from "./fit-pixels.ts";
import { FrameModel } from "./frame-model.ts";
import { type Climb, climb } from "./likelihood-climb.ts";
import { square } from "./square.ts";
import { beamStopMask } from "./stop-mask.ts";
import { findStopShadow } from "./stop-shadow.ts";

export interface FittedCentre {
  readonly x: number;
  readonly y: number;
  readonly xSigma: number;
  readonly ySigma: number;
  /** Twice the log-likelihood gained over a flat frame, and how many parameters gained it. */
  readonly gain: number;
  readonly parameters: number;
  /** Pearson chi-square a degree of freedom of the fit; the sigmas are widened by its root where it is above 1. */
  readonly chiSquare: number;
}

export interface SymmetryOptions {
  /** Pixel pitch along y over pitch along x; 1 where unknown. */
  readonly aspect?: number;
  /** Where to begin; the frame's middle and its bright part are tried too. */
  readonly start?: { readonly x: number; readonly y: number };
  /** The start is known to a pixel or so: no other is tried. */
  readonly isStartClose?: boolean;
}

/** px of the frame. */
const WORST_SIGMA = 2;
/** Noise alone gains a chi-square with as many degrees of freedom as parameters; a halo must gain more by this many. */
const FLAT_SIGMAS = 6;
/** Larger frames are fitted in coarser pixels: the halo is smooth, and a sum over pixels keeps its symmetry. */
const MOST_PIXELS = 65_536;

/**
 * Beam centre as the point about which the frame is even: every good pixel's counts against a halo f(r) + c(r) cos 2 phi
 * + s(r) sin 2 phi, all free, by Poisson maximum likelihood (frame-model.ts).
 *
 * A pixel whose mirror image is masked says nothing about symmetry, only about the profile's shape; such pixels are
 * left out once the centre is known to half a pixel, so that a dead corner or an arm on one side doesn't pull.
 * A beam stop's shadow is looked for and left out where the mask has none: off centre, it would push the centre away.
 *
 * @returns a fault where the frame does not decide (flat, or too few counts)
 */
export function centreBySymmetry(given: CountFrame, options: SymmetryOptions = {}): Result<FittedCentre> {
  requireCountFrame(given);
  const aspect = options.aspect ?? 1;
  const fine = withoutStop(given, aspect);
  const factor = Math.ceil(Math.sqrt((fine.width * fine.height) / MOST_PIXELS));
  const frame = coarserFrame(fine, factor);
  const start = options.start && { x: toCoarse(options.start.x, factor), y: toCoarse(options.start.y, factor) };
  const rough = start !== undefined && options.isStartClose ? start : roughCentre(frame, aspect, start);
  if (rough === undefined) return failure("missing", "the centre by symmetry needs unmasked pixels with counts");
  const once = fitCentre(frame, withMirrored(frame, rough.x, rough.y), aspect, rough);
  const coarse = fitCentre(frame, withMirrored(frame, once.x, once.y), aspect, once);
  if (!(coarse.gain > coarse.parameters + FLAT_SIGMAS * Math.sqrt(2 * coarse.parameters)))
    return failure(
      "inconsistent",
      "the frame is flat within its counting noise: no halo shows where the beam centre is; give the centre, or use a direct beam or more counts",
    );
  const twice = {
    ...coarse,
    x: toFine(coarse.x, factor),
    y: toFine(coarse.y, factor),
    xSigma: coarse.xSigma * factor,
    ySigma: coarse.ySigma * factor,
  };
  if (!(twice.xSigma < WORST_SIGMA && twice.ySigma < WORST_SIGMA))
    return failure(
      "inconsistent",
      `the halo does not show where the beam centre is (it would be uncertain by ${formatSigma(Math.max(twice.xSigma, twice.ySigma))} px): give the centre, or use a direct beam or more counts`,
    );
  return success(twice);
}

function withoutStop(frame: CountFrame, aspect: number): CountFrame {
  if (frame.mask.some((bits) => (bits & MASK_REASONS.beamStop) !== 0)) return frame;
  const shadow = findStopShadow(frame, { aspect });
  if (!shadow.found) return frame;
  const mask = frame.mask.slice();
  addMask(mask, beamStopMask(shadow.outline, shadow.penumbra.value, frame.width, frame.height));
  return { ...frame, mask };
}

function formatSigma(sigma: number): string {
  return Number.isFinite(sigma) ? sigma.toFixed(1) : "any number of";
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/** The mask with every pixel added whose point reflection through (x, y) is masked or outside the frame. */
function withMirrored({ width, height, mask }: CountFrame, x: number, y: number): Uint16Array {
  const out = mask.slice();
  const mirrored = new Uint16Array(mask.length);
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      const partnerX = Math.round(2 * x - column);
      const partnerY = Math.round(2 * y - row);
      const inside = partnerX >= 0 && partnerX < width && partnerY >= 0 && partnerY < height;
      if (inside && mask[partnerY * width + partnerX] !== 0) mirrored[row * width + column] = 1;
    }
  }
  addMask(out, mirrored);
  return out;
}

function roughCentre(frame: CountFrame, aspect: number, start: Place | undefined): Place | undefined {
  const middle = { x: (frame.width - 1) / 2, y: (frame.height - 1) / 2 };
  const bright = brightMiddle(frame);
  if (bright === undefined) return undefined;
  let best: (Place & { value: number }) | undefined;
  for (const place of start === undefined ? [middle, bright] : [start, middle, bright]) {
    const { climbed } = maximise(frame, frame.mask, aspect, place, 15);
    if (best === undefined || climbed.value > best.value)
      best = { x: climbed.parameters[0]!, y: climbed.parameters[1]!, value: climbed.value };
  }
  return best;
}

/** Mean position weighted by the square of the counts above the mean: drawn to the halo, or to the middle if flat. */
function brightMiddle({ width, height, counts, mask }: CountFrame): Place | undefined {
  let pixels = 0;
  let total = 0;
  for (let p = 0; p < counts.length; p++) {
    if (mask[p] !== 0) continue;
    pixels++;
    total += counts[p]!;
  }
  if (!(total > 0)) return undefined;
  const mean = total / pixels;
  let sum = 0;
  let sumX = 0;
  let sumY = 0;
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      const p = row * width + column;
      const above = counts[p]! - mean;
      if (mask[p] !== 0 || above <= 0) continue;
      sum += above * above;
      sumX += above * above * column;
      sumY += above * above * row;
    }
  }
  return sum > 0 ? { x: sumX / sum, y: sumY / sum } : { x: (width - 1) / 2, y: (height - 1) / 2 };
}

function maximise(
  frame: CountFrame,
  mask: Uint16Array,
  aspect: number,
  start: Place,
  mostTrials: number,
): { model: FrameModel; climbed: Climb } {
  const reach = Math.sqrt(square(frame.width) + square(aspect * frame.height));
  const model = new FrameModel({
    pixels: fitPixels(frame, (_x, _y, p) => mask[p] === 0),
    aspect,
    reach,
    centrePrior: { x: start.x, y: start.y, sigma: reach / 4 },
  });
  return { model, climbed: climb(model, model.start(start), mostTrials) };
}

function fitCentre(frame: CountFrame, mask: Uint16Array, aspect: number, start: Place): FittedCentre {
  const { model, climbed } = maximise(frame, mask, aspect, start, 40);
  const { parameters, covariance } = climbed;
  const chiSquare = model.chiSquare(parameters);
  const widen = Math.sqrt(Math.max(1, chiSquare));
  return {
    gain: 2 * (climbed.value - model.flatValue()),
    parameters: model.size,
    x: parameters[0]!,
    y: parameters[1]!,
    xSigma: widen * Math.sqrt(covariance[0]!),
    ySigma: widen * Math.sqrt(covariance[model.size + 1]!),
    chiSquare,
  };
}
