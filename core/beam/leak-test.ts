import type { StopOutline } from "../model/measured.ts";
import type { CountFrame } from "./count-frame.ts";
import { type FitPixels, fitPixels } from "./fit-pixels.ts";
import { FrameModel } from "./frame-model.ts";
import { LeaveOneOut } from "./leave-one-out.ts";
import { type Climb, climb } from "./likelihood-climb.ts";
import { type RimPart, type RimPixel, rimSegments, turnOf } from "./rim-segments.ts";
import { globalChance, liMaSignificance, sigmaOfChance, uncertainPoissonTail } from "./significance.ts";
import { square } from "./square.ts";
import { outlineDistance } from "./stop-shape.ts";

export interface RimSegment {
  /** Middle of the segment as seen from the stop's centre, array coordinates, rad, 0 <= phi < 2 pi. */
  readonly phi: number;
  /** Its width, rad. */
  readonly angle: number;
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
  /** From the outline outwards, px: how far the segments reach. */
  readonly depth: number;
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

/** Segments on either side that are left out of a segment's own prediction: a leak is wider than one. */
const NEIGHBOURS = 2;
/** The rim: from the outline outwards, px; what lies at the edge of it; and the ranges that are tried. */
const RIM = 3;
const AT_THE_EDGE = 1.25;
const RANGES = {
  edge: ({ away }: RimPixel) => away <= AT_THE_EDGE,
  beyond: ({ away }: RimPixel) => away > AT_THE_EDGE,
  rim: () => true,
} as const;
type RangeName = keyof typeof RANGES;
/** A rim pixel takes part in the halo's fit where the stop leaves this much of it free. */
const OPEN = 0.99;
const REACH_IN_SIZES = 4;
const LEAST_REACH = 40;
const ROUNDS = 3;
/** px; the beam's centre is known from elsewhere. */
const CENTRE_SIGMA = 0.05;
/**
 * What the halo's logarithm may do from knot to knot at most, and how anisotropic it may be: narrower than for finding
 * things. Towards the rim it is taken to be as rough as it shows itself just beyond, but never quite smooth.
 */
const HALO_ROUGHNESS = 0.25;
const LEAST_ROUGHNESS = 0.05;
const HALO_ANISOTROPY = 0.5;
/** How even the pixels' response is taken to be at best, however even the frame: long runs would else show leaks. */
const LEAST_UNEVENNESS = 0.02;
/** The halo's model is tried on the ring just outside the rim: what it misses there it may miss at the rim. */
const TRIED_TO = 2 * RIM + 1;
/** A segment stands out when chance makes one as strong in a thousand frames. */
export const NOTEWORTHY = 1e-3;

/**
 * Looks for direct beam beside the stop: the rim in angular segments, each against the halo that all other pixels
 * predict there. "All other": the fit of the halo is taken without the segment and its neighbours (one Newton step from
 * the fit with all), so that a leak does not explain itself; what stands out is left out of all fits, and the rest is
 * judged again.
 *
 * Each segment is tried at its edge, beyond it, and as a whole. At the edge alone the pixels just beyond tell what the halo
 * is, so that a thin crescent shows that the whole segment, where the halo must be continued inwards over 3 px, would
 * lose. The rim all around is tried first in the same way: beam that passes everywhere would pass for halo where segments
 * are compared with each other.
 *
 * The prediction's own uncertainty enters each chance: its fit and the way inwards, the outline's place, the uneven
 * response of the pixels as the frame shows it; and the number of tests enters the overall one.
 *
 * @returns undefined where too few pixels see the rim
 */
export function leakTest(input: LeakTestInput): LeakTest | undefined {
  const leftOut = new Set(input.leaveOut);
  const isGood = (p: number): boolean => input.frame.mask[p] === 0 && !leftOut.has(p);
  const rim = rimSegments(input.frame, input, RIM, isGood);
  if (rim.length === 0) return undefined;
  const ranges = (Object.keys(RANGES) as RangeName[]).map((range) => ({
    range,
    parts: rim.map(({ phi, pixels }) => ({ phi, pixels: pixels.filter(RANGES[range]) })),
  }));
  const trials = ranges.length * (rim.length + 1);
  const standsOut = (segment: RimSegment | undefined): segment is RimSegment =>
    segment !== undefined && globalChance(segment.chance, trials) < NOTEWORTHY;
  const halo = new RimHalo(input, isGood, rim);

  const excluded = new Set<number>();
  const rings = ranges.map(({ parts }) => {
    const ring = { phi: 0, pixels: parts.flatMap(({ pixels }) => pixels) };
    return { ring, judged: halo.fitWithout(new Set(ring.pixels.map(({ p }) => p))).judge(ring, []) };
  });
  const brightRings = rings.filter(({ judged }) => standsOut(judged));
  for (const { ring } of brightRings) for (const { p } of ring.pixels) excluded.add(p);
  let tried: { readonly range: RangeName; readonly segments: readonly (RimSegment | undefined)[] }[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    const fit = halo.fitWithout(excluded);
    tried = ranges.map(({ range, parts }) => ({
      range,
      segments: parts.map((part, k) => fit.judge(part, neighbours(parts, k, excluded))),
    }));
    const before = excluded.size;
    for (let k = 0; k < rim.length; k++) {
      const outstanding = ranges.filter((_, r) => standsOut(tried[r]!.segments[k]));
      // The edge or what is beyond it alone leaves the other to tell what the halo is.
      const narrow = outstanding.filter(({ range }) => range !== "rim");
      for (const { parts } of narrow.length > 0 ? narrow : outstanding)
        for (const { p } of parts[k]!.pixels) excluded.add(p);
    }
    if (excluded.size === before) break;
  }
  const shown = tried
    .filter(({ range }) => range !== "beyond")
    .map(({ range, segments }) => ({
      depth: range === "rim" ? RIM : AT_THE_EDGE,
      segments: segments.filter((segment) => segment !== undefined),
    }));
  const best = bestDepth(shown);
  const summary = summarise(best, brightRings.map(({ judged }) => judged).filter(standsOut), { trials, standsOut });
  const leaking = leakingPixels(input, brightRings.length > 0 ? "all" : best.segments.filter(standsOut));
  return { ...summary, leaking };
}

/** The pixels of a segment and those beside it, as far as they took part in the fit. */
function neighbours(parts: readonly RimPart[], k: number, excluded: ReadonlySet<number>): RimPixel[] {
  const out: RimPixel[] = [];
  for (let step = -NEIGHBOURS; step <= NEIGHBOURS; step++)
    out.push(
      ...parts[(k + step + parts.length) % parts.length]!.pixels.filter(
        ({ p, open }) => open > OPEN && !excluded.has(p),
      ),
    );
  return out;
}

interface Depth {
  readonly depth: number;
  readonly segments: readonly RimSegment[];
}

/** All segments at one depth, so that they can be compared with each other: at that of the least likely one. */
function bestDepth(depths: readonly Depth[]): Depth {
  const least = ({ segments }: Depth): number => segments.reduce((a, { chance }) => Math.min(a, chance), 1);
  return depths.reduce((a, b) => (least(b) <= least(a) ? b : a));
}

/** How far from the outline a leak reaches into the fit of the outline, px. */
const LEAK_REACH = 4;

function leakingPixels({ frame, outline }: LeakTestInput, outstanding: readonly RimSegment[] | "all"): Int32Array {
  const found: number[] = [];
  if (outstanding.length === 0) return Int32Array.from(found);
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      if (Math.abs(outlineDistance(outline, x, y)) > LEAK_REACH) continue;
      const phi = turnOf(outline, x, y) * 2 * Math.PI;
      const isBeside =
        outstanding === "all" ||
        outstanding.some((s) => {
          const apart = Math.abs(phi - s.phi);
          return Math.min(apart, 2 * Math.PI - apart) < 1.5 * s.angle;
        });
      if (isBeside) found.push(y * frame.width + x);
    }
  }
  return Int32Array.from(found);
}

function summarise(
  { depth, segments }: Depth,
  rings: readonly RimSegment[],
  { trials, standsOut }: { trials: number; standsOut: (segment: RimSegment) => boolean },
): Omit<LeakTest, "leaking"> {
  const best = [...segments, ...rings].reduce((a, b) => (b.chance < a.chance ? b : a));
  const chance = globalChance(best.chance, trials);
  const outstanding = segments.filter(standsOut);
  // Around the whole rim the ring counts more than the segments that stand out by themselves.
  const counted = rings.includes(best) || outstanding.length === 0 ? [best] : outstanding;
  return {
    ...{ segments, depth, chance },
    significance: sigmaOfChance(chance),
    excessCounts: counted.reduce((sum, s) => sum + s.counts - s.expected, 0),
    excessSigma: Math.sqrt(counted.reduce((sum, s) => sum + s.counts + square(s.expectedSigma), 0)),
  };
}

/** The halo behind the rim, from the pixels around it. */
class RimHalo {
  private readonly input: LeakTestInput;
  private readonly isGood: (p: number) => boolean;
  private readonly rim: ReadonlyMap<number, RimPixel>;
  private readonly segments: number;
  private readonly edgeSigma: number;
  private roughness = HALO_ROUGHNESS;
  private last: Float64Array | undefined;

  constructor(input: LeakTestInput, isGood: (p: number) => boolean, rim: readonly RimPart[]) {
    this.input = input;
    this.isGood = isGood;
    this.rim = new Map(rim.flatMap(({ pixels }) => pixels.map((pixel) => [pixel.p, pixel])));
    this.segments = rim.length;
    const { outline } = input;
    const half =
      outline.shape === "circle"
        ? (outline.radiusSigma ?? 0)
        : Math.max(outline.widthSigma ?? 0, outline.heightSigma ?? 0) / 2;
    this.edgeSigma = Math.sqrt(square(Math.max(outline.xSigma ?? 0, outline.ySigma ?? 0)) + square(half));
    const { model, fitted } = this.climb(new Set(this.rim.keys()));
    const { beam, aspect = 1 } = input;
    let nearest = Number.POSITIVE_INFINITY;
    for (const { x, y, away } of this.rim.values())
      if (away > RIM - 1) nearest = Math.min(nearest, square(x - beam.x) + square(aspect * (y - beam.y)));
    const seen = model.roughnessBeyond(Math.sqrt(nearest), fitted);
    this.roughness = Math.min(HALO_ROUGHNESS, Math.max(LEAST_ROUGHNESS, seen));
  }

  private climb(excluded: ReadonlySet<number>): { model: FrameModel; pixels: FitPixels; fitted: Climb } {
    const { frame, outline, beam, aspect } = this.input;
    const size =
      outline.shape === "circle" ? outline.radius : Math.sqrt(square(outline.width) + square(outline.height)) / 2;
    const reach = Math.max(LEAST_REACH, REACH_IN_SIZES * size);
    const pixels = fitPixels(frame, (x, y, p) => {
      if (!this.isGood(p)) return false;
      const atRim = this.rim.get(p);
      // Inside the penumbra the stop's model takes part, which the halo's fit does not have.
      if (atRim !== undefined) return !excluded.has(p) && atRim.open > OPEN;
      const away = outlineDistance(outline, x, y);
      return away > RIM && away < reach;
    });
    const model = new FrameModel({
      pixels,
      aspect: aspect ?? 1,
      reach: 1.5 * (reach + size),
      // The centre is known; it moves only as far as that knowledge allows.
      centrePrior: { ...beam, sigma: CENTRE_SIGMA },
      roughness: this.roughness,
      anisotropy: HALO_ANISOTROPY,
    });
    // The fits differ by a few pixels: each begins where the last one ended.
    const fitted = climb(model, this.last ?? model.start(beam));
    this.last = fitted.parameters;
    return { model, pixels, fitted };
  }

  fitWithout(excluded: ReadonlySet<number>): RimFit {
    const { frame } = this.input;
    const { model, pixels, fitted } = this.climb(excluded);
    const misfit = misfitBeside(this.input, this.isGood, model, fitted.parameters, this.segments);
    const uneven = Math.max(LEAST_UNEVENNESS, unevenness(model, pixels, fitted.parameters));
    const fit = new LeaveOneOut(model, fitted);
    const judge = (part: RimPart, without: readonly RimPixel[]): RimSegment | undefined =>
      part.pixels.length === 0 ? undefined : this.judge(part, fit.predict(frame, part.pixels, without), misfit, uneven);
    return { judge };
  }

  private judge(
    { phi, pixels }: RimPart,
    prediction: { readonly sum: number; readonly variance: number },
    misfit: number,
    uneven: number,
  ): RimSegment {
    const { frame, level } = this.input;
    let counts = 0;
    let shadowed = 0;
    let open = 0;
    let opening = 0;
    for (const pixel of pixels) {
      counts += frame.counts[pixel.p]!;
      shadowed += level * (1 - pixel.open);
      open += pixel.open;
      opening += pixel.opening;
    }
    const expected = prediction.sum + shadowed;
    const response = Math.sqrt(square(misfit) + square(uneven) / pixels.length);
    // The edge bares or hides as much of the halo as it steps back or on.
    const edge = open > 0 ? (prediction.sum / open) * opening * this.edgeSigma : 0;
    const expectedSigma = Math.sqrt(prediction.variance + square(response * expected) + square(edge));
    const chance = uncertainPoissonTail(counts, expected, expectedSigma);
    const ratio = expected / square(expectedSigma);
    const significance = liMaSignificance(counts, expected * ratio, 1 / ratio);
    const angle = (2 * Math.PI) / this.segments;
    return { phi, angle, pixels: pixels.length, counts, expected, expectedSigma, chance, significance };
  }
}

interface RimFit {
  /** A part of the rim against the fit without `without`; undefined where it has no pixels. */
  judge(part: RimPart, without: readonly RimPixel[]): RimSegment | undefined;
}

/** Scatter of the pixels' response beyond counting, as a part of their counts: what a sum of n of them is off by, times root n. */
function unevenness(model: FrameModel, { x, y, counts }: FitPixels, parameters: Float64Array): number {
  let excess = 0;
  let squares = 0;
  for (let i = 0; i < counts.length; i++) {
    const mu = model.expected(parameters, x[i]!, y[i]!);
    excess += square(counts[i]! - mu) - mu;
    squares += mu * mu;
  }
  return squares > 0 ? Math.sqrt(Math.max(0, excess / squares)) : 0;
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
      const k = Math.min(count - 1, Math.floor(turnOf(outline, x, y) * count));
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
