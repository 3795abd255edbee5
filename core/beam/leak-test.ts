import type { StopOutline } from "../model/measured.ts";
import { atan2 } from "../model/steady-math.ts";
import type { CountFrame } from "./count-frame.ts";
import { FrameModel, fitPixels } from "./frame-model.ts";
import { type Climb, climb, inverse } from "./likelihood-climb.ts";
import { globalChance, liMaSignificance, sigmaOfChance, uncertainPoissonTail } from "./significance.ts";
import { square } from "./square.ts";
import { outlineDistance, outlineShape, shadowFraction } from "./stop-shape.ts";

export interface RimSegment {
  /** Middle of the segment as seen from the stop's centre, array coordinates, rad, 0 <= phi < 2 pi. */
  readonly phi: number;
  readonly pixels: number;
  readonly counts: number;
  readonly expected: number;
  /** Of `expected`: the halo's fit and the uneven response of the detector. */
  readonly expectedSigma: number;
  /** Chance of so many counts without a leak, in this segment alone. */
  readonly chance: number;
  /** Excess or deficit in sigma, by Li and Ma, the expectation taken as counted in a control region. */
  readonly significance: number;
}

export interface LeakTest {
  readonly segments: readonly RimSegment[];
  /** Chance that some segment shows as much without a leak, and its one-sided sigma. */
  readonly chance: number;
  readonly significance: number;
  /** Pixels in and beside the segments that stand out, on both sides of the outline. */
  readonly leaking: Int32Array;
  /** Counts above the halo in the segments that stand out; in the most significant one where none does. */
  readonly excessCounts: number;
  readonly excessSigma: number;
}

export interface LeakTestInput {
  readonly frame: CountFrame;
  readonly outline: StopOutline;
  /** Gaussian sigma of the edges, px, and counts a pixel inside the shadow. */
  readonly penumbra: number;
  readonly level: number;
  readonly beam: { readonly x: number; readonly y: number };
  /** Pixel pitch along y over pitch along x; 1 where unknown. */
  readonly aspect?: number;
  /** Pixels that take no part, such as an arm's. */
  readonly leaveOut?: Int32Array;
}

const MOST_SEGMENTS = 24;
const FEWEST_SEGMENTS = 4;
const PIXELS_A_SEGMENT = 4;
/** Segments on either side that are left out of a segment's own prediction: a leak is wider than one. */
const NEIGHBOURS = 2;
/** The rim: from the outline outwards, px. */
const RIM = 3;
/** A rim pixel takes part in the halo's fit where the stop leaves this much of it free. */
const OPEN = 0.99;
const REACH_IN_SIZES = 4;
const LEAST_REACH = 40;
const ROUNDS = 3;
/** px; the beam's centre is known from elsewhere. */
const CENTRE_SIGMA = 0.05;
/** What the halo's logarithm may do from knot to knot, and how anisotropic it may be: narrower than for finding things. */
const HALO_ROUGHNESS = 0.25;
const HALO_ANISOTROPY = 0.5;
/** How well a few pixels' response is known beside the fit: without it every long run would show a leak. */
const UNEVEN_RESPONSE = 0.03;
/** The halo's model is tried on the ring just outside the rim: what it misses there it may miss at the rim. */
const TRIED_TO = 2 * RIM + 1;
/** A segment stands out when chance makes one as strong in a thousand frames. */
export const NOTEWORTHY = 1e-3;

/**
 * Looks for direct beam beside the stop: the rim in angular segments, each against the halo that all other pixels
 * predict there. "All other": the fit of the halo is taken without the segment and its neighbours (one Newton step from
 * the fit with all), so that a leak does not explain itself; segments that stand out are left out of all fits, and the
 * rest is judged again. The prediction's own uncertainty (its fit, its extrapolation inwards, 3 % of uneven response)
 * enters each segment's chance, and the number of segments the overall one.
 *
 * @returns undefined where too few pixels see the rim
 */
export function leakTest(input: LeakTestInput): LeakTest | undefined {
  const { frame, outline, beam } = input;
  const size =
    outline.shape === "circle" ? outline.radius : Math.sqrt(square(outline.width) + square(outline.height)) / 2;
  const reach = Math.max(LEAST_REACH, REACH_IN_SIZES * size);
  const leftOut = new Set(input.leaveOut);
  const isGood = (p: number): boolean => frame.mask[p] === 0 && !leftOut.has(p);
  const rim = rimSegments(input, isGood);
  if (rim.length === 0) return undefined;
  const segmentOf = new Map<number, number>();
  for (const [k, { pixels }] of rim.entries()) for (const { p } of pixels) segmentOf.set(p, k);

  const excluded = new Set<number>();
  let segments: RimSegment[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    const pixels = fitPixels(frame, (x, y, p) => {
      if (!isGood(p)) return false;
      const segment = segmentOf.get(p);
      // Inside the penumbra the stop's model takes part, which the halo's fit does not have.
      if (segment !== undefined) return !excluded.has(segment) && openFraction(input, x, y) > OPEN;
      const away = outlineDistance(outline, x, y);
      return away > RIM && away < reach;
    });
    const model = new FrameModel({
      pixels,
      aspect: input.aspect ?? 1,
      reach: 1.5 * (reach + size),
      // The centre is known; it moves only as far as that knowledge allows.
      centrePrior: { ...beam, sigma: CENTRE_SIGMA },
      roughness: HALO_ROUGHNESS,
      anisotropy: HALO_ANISOTROPY,
    });
    const fitted = climb(model, model.start(beam));
    const response = Math.sqrt(
      square(UNEVEN_RESPONSE) + square(misfitBeside(input, isGood, model, fitted.parameters, rim.length)),
    );
    segments = judgeSegments(input, rim, new LeaveOneOut(model, fitted), { excluded, response });
    const fresh = segments.filter((s, k) => !excluded.has(k) && globalChance(s.chance, rim.length) < NOTEWORTHY);
    if (fresh.length === 0) break;
    for (const [k, s] of segments.entries()) if (globalChance(s.chance, rim.length) < NOTEWORTHY) excluded.add(k);
  }
  return { ...summarise(segments), leaking: leakingPixels(input, segments) };
}

/** How far from the outline a leak reaches into the fit of the outline, px. */
const LEAK_REACH = 4;

function leakingPixels({ frame, outline }: LeakTestInput, segments: readonly RimSegment[]): Int32Array {
  const outstanding = segments.filter((s) => globalChance(s.chance, segments.length) < NOTEWORTHY);
  const halfWidth = (1.5 * 2 * Math.PI) / segments.length;
  const found: number[] = [];
  if (outstanding.length === 0) return Int32Array.from(found);
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      if (Math.abs(outlineDistance(outline, x, y)) > LEAK_REACH) continue;
      const phi = atan2(y - outline.y, x - outline.x);
      const isBeside = outstanding.some((s) => {
        const apart = Math.abs(phi - s.phi) % (2 * Math.PI);
        return Math.min(apart, 2 * Math.PI - apart) < halfWidth;
      });
      if (isBeside) found.push(y * frame.width + x);
    }
  }
  return Int32Array.from(found);
}

function summarise(segments: readonly RimSegment[]): Omit<LeakTest, "leaking"> {
  const best = segments.reduce((a, b) => (b.chance < a.chance ? b : a));
  const chance = globalChance(best.chance, segments.length);
  const outstanding = segments.filter((s) => globalChance(s.chance, segments.length) < NOTEWORTHY);
  const counted = outstanding.length > 0 ? outstanding : [best];
  return {
    segments,
    chance,
    significance: sigmaOfChance(chance),
    excessCounts: counted.reduce((sum, s) => sum + s.counts - s.expected, 0),
    excessSigma: Math.sqrt(counted.reduce((sum, s) => sum + s.counts + square(s.expectedSigma), 0)),
  };
}

interface RimPixel {
  readonly p: number;
  readonly x: number;
  readonly y: number;
  /** Fraction that the stop leaves free. */
  readonly open: number;
}

interface Segment {
  readonly phi: number;
  readonly pixels: readonly RimPixel[];
}

function rimSegments(input: LeakTestInput, isGood: (p: number) => boolean): Segment[] {
  const { frame, outline } = input;
  const rim: (RimPixel & { turn: number })[] = [];
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      const p = y * frame.width + x;
      if (!isGood(p)) continue;
      const away = outlineDistance(outline, x, y);
      if (away < 0 || away > RIM) continue;
      const turn = atan2(y - outline.y, x - outline.x) / (2 * Math.PI);
      rim.push({ p, x, y, turn: turn < 0 ? turn + 1 : turn, open: openFraction(input, x, y) });
    }
  }
  const count = Math.min(MOST_SEGMENTS, Math.floor(rim.length / PIXELS_A_SEGMENT));
  if (count < FEWEST_SEGMENTS) return [];
  return Array.from({ length: count }, (_, k) => ({
    phi: ((k + 0.5) / count) * 2 * Math.PI,
    pixels: rim.filter(({ turn }) => Math.min(count - 1, Math.floor(turn * count)) === k),
  })).filter(({ pixels }) => pixels.length > 0);
}

const unusedDerivatives = new Float64Array(8);

function openFraction({ outline, penumbra }: LeakTestInput, x: number, y: number): number {
  const { kind, shape } = outlineShape(outline, Math.max(penumbra, 1e-3));
  return 1 - shadowFraction(kind, shape, x, y, unusedDerivatives);
}

function judgeSegments(
  { frame, level }: LeakTestInput,
  rim: readonly Segment[],
  fit: LeaveOneOut,
  { excluded, response }: { readonly excluded: ReadonlySet<number>; readonly response: number },
): RimSegment[] {
  return rim.map(({ phi, pixels }, k) => {
    const without: RimPixel[] = [];
    for (let step = -NEIGHBOURS; step <= NEIGHBOURS; step++) {
      const neighbour = (k + step + rim.length) % rim.length;
      // What is excluded took no part in the fit, and nothing of it can be taken out again.
      if (!excluded.has(neighbour)) without.push(...rim[neighbour]!.pixels.filter(({ open }) => open > OPEN));
    }
    const prediction = fit.predict(frame, pixels, without);
    let counts = 0;
    let shadowed = 0;
    for (const { p, open } of pixels) {
      counts += frame.counts[p]!;
      shadowed += level * (1 - open);
    }
    const expected = prediction.sum + shadowed;
    const expectedSigma = Math.sqrt(prediction.variance + square(response * expected));
    const chance = uncertainPoissonTail(counts, expected, expectedSigma);
    const ratio = expected / square(expectedSigma);
    const significance = liMaSignificance(counts, expected * ratio, 1 / ratio);
    return { phi, pixels: pixels.length, counts, expected, expectedSigma, chance, significance };
  });
}

/**
 * How far the halo's model is off just outside the rim, as a part of the expected counts and beyond counting: root mean
 * square over segments. A strongly anisotropic or structured pattern that the model follows badly is then no leak, while
 * a leak, which stays at the rim, hides nothing here.
 */
function misfitBeside(
  { frame, outline }: LeakTestInput,
  isGood: (p: number) => boolean,
  model: FrameModel,
  parameters: Float64Array,
  count: number,
): number {
  const counts = new Float64Array(count);
  const expected = new Float64Array(count);
  const unused = new Float64Array(model.size);
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      const p = y * frame.width + x;
      const away = outlineDistance(outline, x, y);
      if (away <= RIM || away > TRIED_TO || !isGood(p)) continue;
      const turn = atan2(y - outline.y, x - outline.x) / (2 * Math.PI);
      const k = Math.min(count - 1, Math.floor((turn < 0 ? turn + 1 : turn) * count));
      counts[k]! += frame.counts[p]!;
      expected[k]! += model.addExpected(parameters, x, y, { factor: 0, into: unused });
    }
  }
  let sum = 0;
  let used = 0;
  for (let k = 0; k < count; k++) {
    if (!(expected[k]! > 0)) continue;
    sum += square(counts[k]! / expected[k]! - 1) - 1 / expected[k]!;
    used++;
  }
  return used === 0 ? 0 : Math.sqrt(Math.max(0, sum / used));
}

/** A halo's fit that can forget some of its pixels. */
class LeaveOneOut {
  private readonly model: FrameModel;
  private readonly parameters: Float64Array;
  private readonly information: Float64Array;

  constructor(model: FrameModel, { parameters }: Climb) {
    this.model = model;
    this.parameters = parameters;
    this.information = new Float64Array(model.size * model.size);
    model.evaluate(parameters, new Float64Array(model.size), this.information);
  }

  /** Sum and variance of the halo over `pixels` (times what the stop leaves free), as fitted without `without`. */
  predict(frame: CountFrame, pixels: readonly RimPixel[], without: readonly RimPixel[]) {
    const { model, parameters } = this;
    const n = model.size;
    const information = this.information.slice();
    const gradient = new Float64Array(n);
    const one = new Float64Array(n);
    for (const { p, x, y } of without) {
      one.fill(0);
      const mu = model.addExpected(parameters, x, y, { factor: 1, into: one });
      const residual = frame.counts[p]! / mu - 1;
      for (let i = 0; i < n; i++) {
        gradient[i]! -= residual * one[i]!;
        for (let j = 0; j <= i; j++) information[i * n + j]! -= (one[i]! * one[j]!) / mu;
      }
    }
    const covariance = inverse(information, n);
    const moved = parameters.slice();
    for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) moved[i]! += covariance[i * n + j]! * gradient[j]!;
    const along = new Float64Array(n);
    let sum = 0;
    for (const { x, y, open } of pixels) sum += open * model.addExpected(moved, x, y, { factor: open, into: along });
    return { sum, variance: quadraticForm(along, covariance) };
  }
}

function quadraticForm(vector: Float64Array, matrix: Float64Array): number {
  const n = vector.length;
  let sum = 0;
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum += vector[i]! * matrix[i * n + j]! * vector[j]!;
  return sum;
}
