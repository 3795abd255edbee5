import type { StopOutline } from "../model/measured.ts";
import { atan, ln } from "../model/steady-math.ts";
import { coarserFrame, toCoarse, toFine } from "./coarser-frame.ts";
import { boxSums, type CountFrame } from "./count-frame.ts";
import { brightMiddle, type FitPixels, fitPixels, selectPixels } from "./fit-pixels.ts";
import { FrameModel } from "./frame-model.ts";
import { type Climb, climb } from "./likelihood-climb.ts";
import { findOutliers } from "./outliers.ts";
import { square } from "./square.ts";
import { type DarkBox, findDarkBoxes } from "./stop-finder.ts";
import { PENUMBRA_INDEX, SHAPE_SIZE, type ShapeKind } from "./stop-shape.ts";

/** A value and one standard deviation. */
export interface Estimated {
  readonly value: number;
  readonly sigma: number;
}

/** A stop's shadow in a scattering frame. Positions and sizes in px, array coordinates. */
export interface StopShadow {
  readonly found: true;
  readonly outline: StopOutline;
  /** Gaussian sigma of the edges beyond the pixel itself, px. */
  readonly penumbra: Estimated;
  /** Counts a pixel inside the shadow. */
  readonly level: Estimated;
  /** Centre of the halo from the same fit. Its sigma is large where the frame is flat. */
  readonly haloCentre: { readonly x: number; readonly y: number; readonly xSigma: number; readonly ySigma: number };
  /** Twice the gain in log-likelihood over the same halo without a stop. */
  readonly gain: number;
  /** Pearson chi-square a degree of freedom; sigmas are widened by its root where it is above 1. */
  readonly chiSquare: number;
  /** How much better this shape fits than the other, twice the log-likelihood, after the price of its parameters. */
  readonly shapeGain: number;
  /** Pixels beside the shadow that are far too dark for the halo: an arm, wires. Indices into the frame. */
  readonly attached: Int32Array;
  /** Pixels beside the shadow that are far too bright for the halo, and were left out of the fit: a leak. */
  readonly bright: Int32Array;
  /** Expected counts at a pixel by this fit, and by its halo alone, as if there were no stop. */
  expected(x: number, y: number): number;
  halo(x: number, y: number): number;
}

export interface NoStopShadow {
  readonly found: false;
  /** One sentence. */
  readonly reason: string;
  /** The darkest place, where one was looked at. */
  readonly darkest?: StopOutline;
}

export interface StopShadowOptions {
  /** Pixel pitch along y over pitch along x; 1 where unknown. */
  readonly aspect?: number;
  /** Where the shadow is, about; it is looked for where this is absent. */
  readonly near?: StopOutline;
  /** Direct beam that passes: around where, and between which distances (px) it lies on the halo. */
  readonly directBeam?: DirectBeamRing;
}

export interface DirectBeamRing {
  readonly x: number;
  readonly y: number;
  /** Of the centre, px. */
  readonly sigma: number;
  readonly from: number;
  readonly to: number;
}

const CANDIDATES = 3;
/** Cut out around the dark box where the halo's centre is found, px; how firmly that centre ties the next fits. */
const RIM = 4;
const TIE_SIGMAS = 5;
const LEAST_TIE = 0.3;
const FLAT = 3;
/** A second dark place is worth a fit where it comes this close to the darkest. */
const CONTENDER = 0.6;
/** Larger frames are searched in coarser pixels, and larger stops fitted in them: the model integrates over any pixel. */
const FINDER_SIDE = 160;
const FIT_SIDE = 20;
const LEAST_REACH = 40;
const REACH_IN_SIZES = 3;
/**
 * Parts a side of a pixel that the edge crosses, in the last fit. The halo's slope under the edge moves an off-centre stop
 * by some 0.005 px where it is neglected, and by the square of this less where it is not.
 */
const SUBDIVISION = 3;
/** Evaluations: for a start, and for the comparison without a stop. */
const FEW = 14;
/** Twice the log-likelihood: a chance find among some 1e6 boxes has about 30; this leaves a margin. */
const LEAST_GAIN = 45;
/** Of the outline's area against the box's, and of the penumbra against the outline's smaller side. */
const MOST_GROWTH = 2.5;
const MOST_BLUR = 0.25;
/** Fits at most, each without the outliers of the one before; and the share of pixels that may be outliers. */
const ROUNDS = 3;
const MOST_LEFT_OUT = 0.25;
const WORST_CENTRE_SIGMA = 1;
/** Of its sigma: how far the last step may still move the outline's centre. */
const SETTLED = 1;
/** Shadow over halo: above this the dark place is a dip, not an absorber. */
const MOST_LEVEL = 0.7;

/**
 * Finds the shadow of the beam stop without help and fits it: first the box that is darker than all four sides, then a
 * Poisson maximum-likelihood fit of halo, shadow outline (circle or turned rectangle), penumbra and level inside to
 * every good pixel around it. Sigmas are from the information matrix, widened where the pixels scatter more than
 * counting explains.
 */
export function findStopShadow(frame: CountFrame, options: StopShadowOptions = {}): StopShadow | NoStopShadow {
  const search = options.near === undefined ? Math.ceil(Math.max(frame.width, frame.height) / FINDER_SIDE) : 1;
  const boxes =
    options.near === undefined
      ? findDarkBoxes(boxSums(coarserFrame(frame, search)), CANDIDATES)
      : [boxOf(options.near)];
  if (boxes.length === 0)
    return noShadow("no place in the frame is darker than all that surrounds it: no stop's shadow shows");
  let best: StopShadow | undefined;
  let reason = "";
  for (const box of boxes) {
    if (box.contrast < CONTENDER * boxes[0]!.contrast) break;
    const factor = Math.max(1, Math.floor((search * Math.max(box.width, box.height)) / FIT_SIDE));
    const place: DarkBox = {
      x: toCoarse(toFine(box.x, search), factor),
      y: toCoarse(toFine(box.y, search), factor),
      width: (box.width * search) / factor,
      height: (box.height * search) / factor,
      contrast: box.contrast,
    };
    const coarse = fitBox(coarserFrame(frame, factor), place, coarserOptions(options, factor));
    const shadow = finer(coarse, factor, frame.width);
    if (!shadow.found) reason ||= shadow.reason;
    else if (best === undefined || shadow.gain > best.gain) best = shadow;
  }
  const [{ x, y, width, height }] = boxes as [DarkBox, ...DarkBox[]];
  const [fineX, fineY] = [toFine(x, search), toFine(y, search)];
  const sides = { width: width * search, height: height * search, turn: 0 };
  return best ?? { ...noShadow(reason), darkest: { shape: "rectangle", x: fineX, y: fineY, ...sides } };
}

function boxOf(outline: StopOutline): DarkBox {
  const { x, y } = outline;
  // A disc's box of the same area, as the finder would see it.
  const side = outline.shape === "circle" ? outline.radius * Math.sqrt(Math.PI) : 0;
  const [width, height] = outline.shape === "circle" ? [side, side] : [outline.width, outline.height];
  return { x, y, width, height, contrast: Number.POSITIVE_INFINITY };
}

/** What a fit around a dark box needs, in the pixels that it is made in. */
interface FitOptions {
  readonly aspect: number;
  readonly directBeam: DirectBeamRing | undefined;
}

function coarserOptions({ aspect = 1, directBeam }: StopShadowOptions, factor: number): FitOptions {
  if (directBeam === undefined) return { aspect, directBeam };
  const { x, y, sigma, from, to } = directBeam;
  const ring = { sigma: sigma / factor, from: from / factor, to: to / factor };
  return { aspect, directBeam: { x: toCoarse(x, factor), y: toCoarse(y, factor), ...ring } };
}

/** A shadow found in pixels of factor x factor, in those of the frame. */
function finer(shadow: StopShadow | NoStopShadow, factor: number, width: number): StopShadow | NoStopShadow {
  if (!shadow.found || factor === 1) return shadow;
  const scaled = { ...shadow.outline } as Record<string, number | string>;
  for (const key of ["radius", "width", "height", "xSigma", "ySigma", "radiusSigma", "widthSigma", "heightSigma"])
    if (typeof scaled[key] === "number") scaled[key] = scaled[key] * factor;
  const { haloCentre } = shadow;
  const perPixel = 1 / (factor * factor);
  const at = (f: StopShadow["halo"]) => (x: number, y: number) =>
    perPixel * f(toCoarse(x, factor), toCoarse(y, factor));
  return {
    ...shadow,
    outline: {
      ...(scaled as unknown as StopOutline),
      x: toFine(shadow.outline.x, factor),
      y: toFine(shadow.outline.y, factor),
    },
    penumbra: { value: shadow.penumbra.value * factor, sigma: shadow.penumbra.sigma * factor },
    level: { value: shadow.level.value * perPixel, sigma: shadow.level.sigma * perPixel },
    haloCentre: {
      x: toFine(haloCentre.x, factor),
      y: toFine(haloCentre.y, factor),
      xSigma: haloCentre.xSigma * factor,
      ySigma: haloCentre.ySigma * factor,
    },
    attached: finerPixels(shadow.attached, factor, width),
    bright: finerPixels(shadow.bright, factor, width),
    expected: at(shadow.expected),
    halo: at(shadow.halo),
  };
}

function finerPixels(coarse: Int32Array, factor: number, width: number): Int32Array {
  const coarseWidth = Math.floor(width / factor);
  return Int32Array.from({ length: coarse.length * factor * factor }, (_, k) => {
    const p = coarse[Math.floor(k / (factor * factor))]!;
    const x = (p % coarseWidth) * factor + (k % factor);
    const y = Math.floor(p / coarseWidth) * factor + (Math.floor(k / factor) % factor);
    return y * width + x;
  });
}

function noShadow(reason: string): NoStopShadow {
  return { found: false, reason };
}

interface Fit {
  readonly model: FrameModel;
  readonly kind: ShapeKind;
  readonly climb: Climb;
}

/**
 * Fits halo and shadow around a dark box; then again without the pixels that this fit finds far too dark (an arm) or far
 * too bright (a leak), which would pull the outline, until it finds no more.
 */
function fitBox(frame: CountFrame, box: DarkBox, { aspect, directBeam }: FitOptions): StopShadow | NoStopShadow {
  const size = Math.sqrt(square(box.width) + square(box.height)) / 2;
  const reach = Math.max(LEAST_REACH, REACH_IN_SIZES * size);
  const isInReach = (x: number, y: number): boolean =>
    square(x - box.x) + square(aspect * (y - box.y)) <= reach * reach;
  const leftOut = new Uint8Array(frame.counts.length);
  const expected = new Float64Array(frame.counts.length);
  for (let round = 1; ; round++) {
    const pixels = fitPixels(frame, (x, y, p) => frame.mask[p] === 0 && leftOut[p] === 0 && isInReach(x, y));
    const { chosen, lead, open } = fitBothShapes(pixels, box, { aspect, reach, directBeam });
    for (let p = 0; p < expected.length; p++) {
      const x = p % frame.width;
      const y = (p - x) / frame.width;
      const takesPart = frame.mask[p] === 0 && isInReach(x, y);
      expected[p] = takesPart ? chosen.model.expected(chosen.climb.parameters, x, y) : Number.NaN;
    }
    const { dark, bright } = findOutliers(frame, expected);
    const fresh = [...dark, ...bright].filter((p) => leftOut[p] === 0);
    if (fresh.length > 0 && round < ROUNDS && fresh.length < MOST_LEFT_OUT * pixels.counts.length) {
      for (const p of fresh) leftOut[p] = 1;
      continue;
    }
    const without = climbWithoutStop(pixels, open.centre, { aspect, reach, directBeam, prior: open.prior });
    const gain = 2 * (chosen.climb.value - without.value);
    // What the last fit finds: an earlier one, bent by the arm, may have doubted pixels of the shadow itself.
    const leftOutAtLast = { attached: Int32Array.from(dark), bright: Int32Array.from(bright) };
    if (!isAbout(box, chosen))
      return noShadow("the outline strays from the darkest place: what is dark there has no edges of its own");
    return judge(chosen, { gain, shapeGain: Math.abs(lead), haloSigma: open.sigma }, leftOutAtLast);
  }
}

/** Whether the outline is still that of the dark box, and has edges: a misfit of the halo draws it far and blurs it. */
function isAbout(box: DarkBox, { model, kind, climb: { parameters } }: Fit): boolean {
  const shape = parameters.subarray(model.shapeIndex);
  const [width, height] = kind === "circle" ? [2 * shape[3]!, 2 * shape[3]!] : [shape[3]!, shape[4]!];
  const area = kind === "circle" ? (Math.PI / 4) * width! * height! : width! * height!;
  const boxArea = box.width * box.height;
  return (
    Math.abs(shape[0]! - box.x) < box.width / 2 + 1 &&
    Math.abs(shape[1]! - box.y) < box.height / 2 + 1 &&
    area < MOST_GROWTH * boxArea + 4 * (box.width + box.height) &&
    area * MOST_GROWTH > boxArea &&
    shape[PENUMBRA_INDEX]! < MOST_BLUR * Math.min(width!, height!)
  );
}

function fitBothShapes(pixels: FitPixels, box: DarkBox, region: Region) {
  const open = fitHalo(pixels, box, region);
  const circle = fitShape(pixels, box, open, { ...region, kind: "circle" });
  const rectangle = fitShape(pixels, box, open, { ...region, kind: "rectangle" });
  // With many counts the coarse model's own error would choose: the shapes are compared by the fine one.
  const fine = ({ kind, climb: { parameters } }: Fit): Fit => {
    const model = shapeModel(pixels, open, { ...region, kind }, SUBDIVISION);
    return { kind, model, climb: climb(model, parameters) };
  };
  const [disc, sides] = [fine(circle), fine(rectangle)];
  // Bayes information criterion: a parameter must earn ln(pixels).
  const price = (SHAPE_SIZE.rectangle - SHAPE_SIZE.circle) * ln(pixels.counts.length);
  const lead = 2 * (sides.climb.value - disc.climb.value) - price;
  return { chosen: lead > 0 ? sides : disc, lead, open };
}

interface Region extends FitOptions {
  readonly reach: number;
}

interface HaloStart {
  readonly centre: { readonly x: number; readonly y: number };
  readonly prior: { readonly x: number; readonly y: number; readonly sigma: number };
  /** How well the centre is known from the halo alone, px. */
  readonly sigma: number;
}

/**
 * The halo alone, from two starting centres (the stop's, and the middle of what is bright), with the stop and its rim cut
 * out. The centre found here ties the fits that follow: otherwise direct beam that leaks at the rim would draw the halo's
 * centre to itself and pass for halo.
 */
function fitHalo(pixels: FitPixels, box: DarkBox, { aspect, reach, directBeam }: Region): HaloStart {
  if (directBeam !== undefined) {
    const { x, y, sigma } = directBeam;
    return { centre: { x, y }, prior: { x, y, sigma: Math.max(LEAST_TIE, TIE_SIGMAS * sigma) }, sigma };
  }
  const outside = selectPixels(
    pixels,
    (x, y) => Math.abs(x - box.x) > box.width / 2 + RIM || Math.abs(y - box.y) > box.height / 2 + RIM,
  );
  const wide = { x: box.x, y: box.y, sigma: reach / 2 };
  const starts = [{ x: box.x, y: box.y }, brightMiddle(outside)];
  let best: Climb | undefined;
  for (const start of starts) {
    const model = new FrameModel({ pixels: outside, aspect, reach: reach * 1.5, centrePrior: wide });
    const result = climb(model, model.start(start), FEW);
    if (best === undefined || result.value > best.value) best = result;
  }
  const { parameters, covariance } = best!;
  const size = parameters.length;
  const sigma = Math.sqrt(Math.max(covariance[0]!, covariance[size + 1]!));
  const centre = { x: parameters[0]!, y: parameters[1]! };
  // A halo that hides its centre this well is flat around the stop: any centre will do, and a free one would creep for ever.
  if (!(sigma < FLAT)) return { centre: box, prior: { x: box.x, y: box.y, sigma: LEAST_TIE }, sigma: wide.sigma };
  return { centre, prior: { ...centre, sigma: Math.max(LEAST_TIE, TIE_SIGMAS * sigma) }, sigma };
}

function climbWithoutStop(
  pixels: FitPixels,
  centre: HaloStart["centre"],
  { aspect, reach, directBeam, prior }: Region & { prior: HaloStart["prior"] },
): Climb {
  const ring = directBeam && { directBeam };
  const model = new FrameModel({ pixels, aspect, reach: reach * 1.5, centrePrior: prior, ...ring });
  return climb(model, model.start(centre), FEW);
}

function fitShape(pixels: FitPixels, box: DarkBox, open: HaloStart, region: Region & { kind: ShapeKind }): Fit {
  const { kind } = region;
  const model = shapeModel(pixels, open, region, region.directBeam === undefined ? 1 : SUBDIVISION);
  // The box's edges may be a pixel off, and a sharp start sees no farther than its penumbra: begin blurred.
  const shape =
    kind === "circle"
      ? [box.x, box.y, 0.8, Math.sqrt((box.width * box.height) / Math.PI)]
      : [box.x, box.y, 0.8, box.width, box.height, 0];
  return { model, kind, climb: climb(model, model.start(open.centre, shape), FEW) };
}

function shapeModel(
  pixels: FitPixels,
  { prior }: HaloStart,
  { aspect, reach, directBeam, kind }: Region & { kind: ShapeKind },
  subdivision: number,
): FrameModel {
  const options = { pixels, aspect, reach: reach * 1.5, centrePrior: prior, stop: kind, subdivision };
  return new FrameModel(directBeam === undefined ? options : { ...options, directBeam });
}

function judge(
  { model, kind, climb: result }: Fit,
  { gain, shapeGain, haloSigma }: { gain: number; shapeGain: number; haloSigma: number },
  leftOut: Pick<StopShadow, "attached" | "bright">,
): StopShadow | NoStopShadow {
  const { parameters, covariance } = result;
  if (gain < LEAST_GAIN)
    return noShadow(
      `the darkest place is no darker than chance allows (twice the log-likelihood ${gain.toFixed(1)}, ${LEAST_GAIN} wanted): too few counts, or no stop`,
    );
  const chiSquare = model.chiSquare(parameters);
  const widen = Math.sqrt(Math.max(1, chiSquare));
  const sigma = (i: number): number => widen * Math.sqrt(covariance[i * model.size + i]!);
  const at = model.shapeIndex;
  const [x, y] = [parameters[at]!, parameters[at + 1]!];
  // In a flat frame the halo may creep on for ever, and the outline with it a little: that much is uncertain too.
  const creep = (i: number): number => (result.converged ? 0 : result.lastStep[i]!);
  const [xSigma, ySigma] = [0, 1].map((k) => Math.sqrt(square(sigma(at + k)) + square(creep(at + k)))) as [
    number,
    number,
  ];
  if (!(Math.abs(creep(at)) < SETTLED * sigma(at) && Math.abs(creep(at + 1)) < SETTLED * sigma(at + 1)))
    return noShadow("the outline of the darkest place did not settle: its edges are not a stop's");
  if (!(xSigma < WORST_CENTRE_SIGMA && ySigma < WORST_CENTRE_SIGMA))
    return noShadow(
      `a dark place shows near (${x.toFixed(1)}, ${y.toFixed(1)}) px, but its centre is uncertain by more than ${WORST_CENTRE_SIGMA} px`,
    );
  const halo = (px: number, py: number): number => {
    const open = parameters.slice();
    // The stop moved out of sight.
    open[at] = 1e9;
    return model.expected(open, px, py);
  };
  const level = { value: parameters[model.levelIndex]!, sigma: sigma(model.levelIndex) };
  const rim = rimHalo(halo, kind, parameters.subarray(at));
  if (level.value > MOST_LEVEL * rim)
    return noShadow(
      `the darkest place, near (${x.toFixed(1)}, ${y.toFixed(1)}) px, still has ${Math.round((100 * level.value) / rim)} % of the counts around it: not an absorber`,
    );
  const outline: StopOutline =
    kind === "circle"
      ? { shape: "circle", x, y, xSigma, ySigma, radius: parameters[at + 3]!, radiusSigma: sigma(at + 3) }
      : {
          ...{ shape: "rectangle", x, y, xSigma, ySigma },
          ...{ width: parameters[at + 3]!, widthSigma: sigma(at + 3) },
          ...{ height: parameters[at + 4]!, heightSigma: sigma(at + 4) },
          turn: 2 * atan(parameters[at + 5]!),
          turnSigma: (2 * sigma(at + 5)) / (1 + square(parameters[at + 5]!)),
        };
  return {
    found: true,
    outline,
    penumbra: { value: parameters[at + PENUMBRA_INDEX]!, sigma: sigma(at + PENUMBRA_INDEX) },
    level,
    haloCentre: {
      x: parameters[0]!,
      y: parameters[1]!,
      // A tied centre's own sigma would be that of the tie.
      xSigma: haloSigma < FLAT ? sigma(0) : haloSigma,
      ySigma: haloSigma < FLAT ? sigma(1) : haloSigma,
    },
    gain,
    chiSquare,
    shapeGain,
    ...leftOut,
    expected: (px, py) => model.expected(parameters, px, py),
    halo,
  };
}

/** The halo a pixel outside the shadow's four sides, where it is weakest: a stop is darker than all around it. */
function rimHalo(halo: (x: number, y: number) => number, kind: ShapeKind, shape: Float64Array): number {
  const halfX = (kind === "circle" ? shape[3]! : shape[3]! / 2) + 1;
  const halfY = (kind === "circle" ? shape[3]! : shape[4]! / 2) + 1;
  const [x, y] = [shape[0]!, shape[1]!];
  return Math.min(halo(x + halfX, y), halo(x - halfX, y), halo(x, y + halfY), halo(x, y - halfY));
}
