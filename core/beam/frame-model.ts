import { exp, ln } from "../model/steady-math.ts";
import type { FitPixels } from "./fit-pixels.ts";
import { pull, smooth } from "./gaussian-priors.ts";
import type { Climb, Likelihood } from "./likelihood-climb.ts";
import { cubicWeights, splineBasis } from "./spline-basis.ts";
import {
  HIGHEST_SHAPE,
  LOWEST_SHAPE,
  SHAPE_SIZE,
  type ShapeKind,
  shadowFraction,
  shapeReach,
  TURN_INDEX,
} from "./stop-shape.ts";

export interface FrameModelOptions {
  readonly pixels: FitPixels;
  /** Pixel pitch along y over pitch along x. */
  readonly aspect: number;
  /** Largest distance from the centre that the profile must describe, in pitches along x. */
  readonly reach: number;
  /** Where the centre is looked for: a wide Gaussian, so that a flat frame leaves it undetermined, not infinite. */
  readonly centrePrior: { readonly x: number; readonly y: number; readonly sigma: number };
  /** A stop in front of it all; absent: none. */
  readonly stop?: ShapeKind;
  /** Priors, where the usual ones are too wide: see ROUGHNESS and ANISOTROPY. */
  readonly roughness?: number;
  readonly anisotropy?: number;
  /**
   * Parts a side into which the pixels are divided that a steep thing crosses (the shadow's edge, the direct beam); 1,
   * the default, takes the halo as even over a pixel.
   */
  readonly subdivision?: number;
  /** Distances from the centre between which direct beam may lie on the halo, in pitches along x; absent: none. */
  readonly directBeam?: { readonly from: number; readonly to: number };
}

// Second differences of the logarithm from knot to knot: what a smooth profile may do where no count says otherwise.
const ROUGHNESS = 0.5;
// Relative strength of the twofold part, before any count has spoken.
const ANISOTROPY = 2;
const HARMONIC_KNOTS = 8;
const ROUGHNESS_KNOTS = 5;
const SMALLEST_KNOT_SPACING = 2;
const MOST_KNOTS = 45;
/** The direct beam's profile: its edge is as sharp as a pixel, and its logarithm may rise by several from knot to knot. */
const BEAM_KNOT_SPACING = 0.5;
const MOST_BEAM_KNOTS = 40;
const BEAM_ROUGHNESS = 2;
const BEAM_HEIGHT = 4;
/** Where less than this of the shadow's edge lies in a pixel it need not be divided. */
const EDGE = 1e-6;
/** Of a logarithm: far beyond any count, and its exponential is finite. */
const MOST_LOG = 60;
/** Parameters that one pixel may depend on. */
const MOST_ACTIVE = 64;

/**
 * The counts expected in every pixel of a frame around a beam:
 *
 *   mu = h (1 - S) + level S,   ln h = f(r) + c(r) cos 2 phi + s(r) sin 2 phi + g(r)
 *
 * f, c and s are cubic splines on even knots, S is the shadowed fraction of a stop, g is the profile of the direct beam
 * where some of it passes: splines on knots so close that its sharp edge is followed, over the few pixels asked for. h is even under inversion through
 * the centre, so anisotropy of the sample does not pull the centre, and every pixel is compared with its own expected
 * count: nothing is interpolated, which would smooth noise and bias the answer.
 *
 * A pixel that the shadow's edge or the direct beam crosses is divided into parts, each with its own halo and shadow: the
 * halo's slope under the edge is worth several thousandths of a pixel in the stop's place.
 *
 * Parameters: centre x, y; f; c; s; g; and with a stop: level, then the shape. Weak priors on roughness, anisotropy and
 * centre make every direction of the parameter space determined; they weigh nothing against counts.
 */
export class FrameModel implements Likelihood {
  readonly size: number;
  readonly lowest: Float64Array;
  readonly highest: Float64Array;
  readonly levelIndex: number;
  readonly shapeIndex: number;
  readonly stop: ShapeKind | undefined;
  readonly pixels: FitPixels;
  private readonly aspect: number;
  private readonly roughness: number;
  private readonly anisotropy: number;
  private readonly prior: FrameModelOptions["centrePrior"];
  private readonly knots: number;
  private readonly spacing: number;
  private readonly harmonicSpacing: number;
  private readonly saturated: Float64Array;
  private readonly subdivision: number;
  private readonly directBeam: { readonly from: number; readonly to: number; readonly spacing: number } | undefined;
  private readonly beamKnots: number;
  private readonly beamIndex: number;
  private readonly active = new Int32Array(MOST_ACTIVE);
  private readonly derivative = new Float64Array(MOST_ACTIVE);
  private readonly gathered = new Int32Array(MOST_ACTIVE);
  private readonly gatheredDerivative = new Float64Array(MOST_ACTIVE);
  private gatheredCount = 0;
  private readonly beamBasis = new Float64Array(8);
  private readonly partShape = new Float64Array(8);
  private readonly basis = new Float64Array(8);
  private readonly harmonicBasis = new Float64Array(8);
  private readonly shapeDerivative = new Float64Array(8);
  private activeCount = 0;
  private isSteep = false;
  private viewed: Float64Array | undefined;
  private shape: Float64Array = new Float64Array(0);

  constructor(options: FrameModelOptions) {
    const { pixels, aspect, reach, centrePrior, stop, roughness, anisotropy, directBeam } = options;
    this.subdivision = options.subdivision ?? 1;
    this.roughness = roughness ?? ROUGHNESS;
    this.anisotropy = anisotropy ?? ANISOTROPY;
    this.pixels = pixels;
    this.aspect = aspect;
    this.prior = centrePrior;
    this.stop = stop;
    this.spacing = Math.max(SMALLEST_KNOT_SPACING, reach / MOST_KNOTS);
    this.knots = Math.ceil(reach / this.spacing) + 3;
    this.harmonicSpacing = reach / (HARMONIC_KNOTS - 3);
    this.beamIndex = 2 + this.knots + 2 * HARMONIC_KNOTS;
    const width = directBeam === undefined ? 0 : directBeam.to - directBeam.from;
    this.beamKnots = width > 0 ? Math.min(MOST_BEAM_KNOTS, Math.ceil(width / BEAM_KNOT_SPACING) + 1) : 0;
    // The profile ends at 0 on both sides: three knots on either side stay empty.
    this.directBeam =
      directBeam && this.beamKnots > 0 ? { ...directBeam, spacing: width / (this.beamKnots + 3) } : undefined;
    this.levelIndex = this.beamIndex + this.beamKnots;
    this.shapeIndex = this.levelIndex + 1;
    this.size = stop === undefined ? this.levelIndex : this.shapeIndex + SHAPE_SIZE[stop];
    this.saturated = pixels.counts.map((n) => (n > 0 ? n * ln(n) - n : 0));
    let total = 0;
    for (let i = 0; i < pixels.counts.length; i++) total += pixels.counts[i]!;
    this.lowest = new Float64Array(this.size).fill(-MOST_LOG).fill(Number.NEGATIVE_INFINITY, 0, 2);
    this.highest = new Float64Array(this.size).fill(MOST_LOG).fill(Number.POSITIVE_INFINITY, 0, 2);
    if (stop === undefined) return;
    // A thousandth of the mean count: small against any halo, and keeps the expected count above 0.
    this.lowest[this.levelIndex] = (1e-3 * Math.max(1, total)) / Math.max(1, pixels.counts.length);
    this.lowest.set(LOWEST_SHAPE[stop], this.shapeIndex);
    this.highest[this.levelIndex] = Number.POSITIVE_INFINITY;
    this.highest.set(HIGHEST_SHAPE[stop], this.shapeIndex);
  }

  /** A start: centre and shape as given, the profile from means over rings. */
  start(centre: { readonly x: number; readonly y: number }, shape?: ArrayLike<number>): Float64Array {
    const parameters = new Float64Array(this.size);
    parameters[0] = centre.x;
    parameters[1] = centre.y;
    const counts = new Float64Array(this.knots);
    const pixels = new Float64Array(this.knots);
    const inside = { counts: 0, pixels: 0 };
    for (let i = 0; i < this.pixels.counts.length; i++) {
      const x = this.pixels.x[i]!;
      const y = this.pixels.y[i]!;
      if (shape !== undefined && this.stop !== undefined) {
        const s = shadowFraction(this.stop, shape, x, y, this.shapeDerivative);
        if (s > 0.99) {
          inside.counts += this.pixels.counts[i]!;
          inside.pixels++;
        }
        if (s > 0.01) continue;
      }
      const dx = x - centre.x;
      const dy = (y - centre.y) * this.aspect;
      const k = Math.min(this.knots - 1, Math.round(Math.sqrt(dx * dx + dy * dy) / this.spacing) + 1);
      counts[k]! += this.pixels.counts[i]!;
      pixels[k]!++;
    }
    let last = Number.NaN;
    for (let k = this.knots - 1; k >= 0; k--) {
      if (pixels[k]! > 0) last = ln((counts[k]! + 0.5) / pixels[k]!);
      parameters[2 + k] = last;
    }
    for (let k = 1; k < this.knots; k++) if (Number.isNaN(parameters[2 + k]!)) parameters[2 + k] = parameters[1 + k]!;
    if (shape !== undefined && this.stop !== undefined) {
      parameters[this.levelIndex] = (inside.counts + 0.5) / (inside.pixels + 1);
      for (let i = 0; i < SHAPE_SIZE[this.stop]; i++) parameters[this.shapeIndex + i] = shape[i]!;
    }
    this.startBeam(parameters);
    return parameters;
  }

  /** The direct beam's profile from the ratio of counts to halo over rings: a climb from far below would take long. */
  private startBeam(parameters: Float64Array): void {
    const { directBeam, pixels } = this;
    if (directBeam === undefined) return;
    const counts = new Float64Array(this.beamKnots);
    const expected = new Float64Array(this.beamKnots);
    for (let i = 0; i < pixels.counts.length; i++) {
      const dx = pixels.x[i]! - parameters[0]!;
      const dy = (pixels.y[i]! - parameters[1]!) * this.aspect;
      const k = Math.round((Math.sqrt(dx * dx + dy * dy) - directBeam.from) / directBeam.spacing) - 2;
      if (k < 0 || k >= this.beamKnots) continue;
      counts[k]! += pixels.counts[i]!;
      expected[k]! += this.part(parameters, pixels.x[i]!, pixels.y[i]!, 1);
    }
    for (let k = 0; k < this.beamKnots; k++)
      if (expected[k]! > 0) parameters[this.beamIndex + k] = ln((counts[k]! + 0.5) / (expected[k]! + 0.5));
  }

  evaluate(parameters: Float64Array, gradient: Float64Array, information: Float64Array): number {
    gradient.fill(0);
    information.fill(0);
    const n = this.size;
    const { active, derivative, pixels } = this;
    let value = this.addPriors(parameters, gradient, information);
    for (let i = 0; i < pixels.counts.length; i++) {
      const mu = this.expected(parameters, pixels.x[i]!, pixels.y[i]!);
      const count = pixels.counts[i]!;
      value += (count > 0 ? count * ln(mu) : 0) - mu - this.saturated[i]!;
      const weight = 1 / mu;
      const residual = count * weight - 1;
      // In locals: fields would be read again in every turn of the inner loop.
      const entries = this.activeCount;
      for (let a = 0; a < entries; a++) {
        const d = derivative[a]!;
        const row = active[a]! * n;
        gradient[active[a]!]! += residual * d;
        const scaled = d * weight;
        // `active` rises, so this is the lower triangle.
        for (let b = 0; b <= a; b++) information[row + active[b]!]! += scaled * derivative[b]!;
      }
    }
    return value;
  }

  /** Expected counts of the pixel at (x, y); leaves the derivatives in `active` and `derivative`. */
  expected(parameters: Float64Array, x: number, y: number): number {
    const whole = this.part(parameters, x, y, 1);
    if (this.subdivision === 1 || !this.isSteep) return whole;
    const n = this.subdivision;
    if (this.stop !== undefined)
      for (let k = 0; k < SHAPE_SIZE[this.stop]; k++)
        this.partShape[k] = parameters[this.shapeIndex + k]! * (k === TURN_INDEX ? 1 : n);
    this.gatheredCount = 0;
    let sum = 0;
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i++) {
        sum += this.part(parameters, x - 0.5 + (i + 0.5) / n, y - 0.5 + (j + 0.5) / n, n);
        this.gather();
      }
    const share = 1 / (n * n);
    this.activeCount = this.gatheredCount;
    for (let a = 0; a < this.activeCount; a++) {
      this.active[a] = this.gathered[a]!;
      this.derivative[a] = share * this.gatheredDerivative[a]!;
    }
    return sum * share;
  }

  /** Adds a part's derivatives to those gathered so far, which stay in order of their parameters. */
  private gather(): void {
    const { active, derivative, gathered, gatheredDerivative } = this;
    let end = this.gatheredCount;
    for (let a = 0; a < this.activeCount; a++) {
      const parameter = active[a]!;
      let at = end;
      while (at > 0 && gathered[at - 1]! >= parameter) at--;
      if (at === end || gathered[at] !== parameter) {
        gathered.copyWithin(at + 1, at, end);
        gatheredDerivative.copyWithin(at + 1, at, end);
        gathered[at] = parameter;
        gatheredDerivative[at] = 0;
        end++;
      }
      gatheredDerivative[at]! += derivative[a]!;
    }
    this.gatheredCount = end;
  }

  /** Counts a pixel at (x, y), from a part of it, 1/n by 1/n in size. */
  private part(parameters: Float64Array, x: number, y: number, n: number): number {
    const { active, derivative, basis, harmonicBasis, directBeam } = this;
    const dx = x - parameters[0]!;
    const dy = (y - parameters[1]!) * this.aspect;
    const r2 = dx * dx + dy * dy + 1e-4;
    const r = Math.sqrt(r2);
    const first = splineBasis(r / this.spacing, this.knots, basis);
    const firstHarmonic = splineBasis(r / this.harmonicSpacing, HARMONIC_KNOTS, harmonicBasis);
    const cos2 = (dx * dx - dy * dy) / r2;
    const sin2 = (2 * dx * dy) / r2;
    const fBase = 2 + first;
    const cBase = 2 + this.knots + firstHarmonic;
    const sBase = cBase + HARMONIC_KNOTS;
    let f = 0;
    let fSlope = 0;
    let c = 0;
    let cSlope = 0;
    let s = 0;
    let sSlope = 0;
    for (let k = 0; k < 4; k++) {
      f += parameters[fBase + k]! * basis[k]!;
      fSlope += parameters[fBase + k]! * basis[4 + k]!;
      c += parameters[cBase + k]! * harmonicBasis[k]!;
      cSlope += parameters[cBase + k]! * harmonicBasis[4 + k]!;
      s += parameters[sBase + k]! * harmonicBasis[k]!;
      sSlope += parameters[sBase + k]! * harmonicBasis[4 + k]!;
    }
    let g = 0;
    let gSlope = 0;
    let firstBeam = 0;
    const hasBeam = directBeam !== undefined && r > directBeam.from && r < directBeam.to;
    if (hasBeam) {
      const u = (r - directBeam.from) / directBeam.spacing;
      firstBeam = Math.floor(u) - 3;
      cubicWeights(u - Math.floor(u), this.beamBasis);
      for (let k = 0; k < 4; k++) {
        if (firstBeam + k < 0 || firstBeam + k >= this.beamKnots) continue;
        g += parameters[this.beamIndex + firstBeam + k]! * this.beamBasis[k]!;
        gSlope += (parameters[this.beamIndex + firstBeam + k]! * this.beamBasis[4 + k]!) / directBeam.spacing;
      }
    }
    const halo = exp(Math.min(MOST_LOG, Math.max(-MOST_LOG, f + c * cos2 + s * sin2 + g)));
    const radial = (gSlope + fSlope / this.spacing + (cSlope * cos2 + sSlope * sin2) / this.harmonicSpacing) / r;
    // d ln h with the pixel's position; the centre moves the other way.
    const alongX = dx * radial + (2 * (c * dx * (1 - cos2) + s * (dy - sin2 * dx))) / r2;
    const alongY = dy * radial + (2 * (-c * dy * (1 + cos2) + s * (dx - sin2 * dy))) / r2;

    let shadow = 0;
    let hasShadow = false;
    if (this.stop !== undefined) {
      // A view a set of parameters, not a view a pixel.
      if (this.viewed !== parameters) {
        this.viewed = parameters;
        this.shape = parameters.subarray(this.shapeIndex);
      }
      const shape = this.shape;
      const reach = shapeReach(this.stop, shape);
      const stopX = x - shape[0]!;
      const stopY = y - shape[1]!;
      if (stopX * stopX + stopY * stopY < reach * reach) {
        hasShadow = true;
        shadow = shadowFraction(this.stop, n === 1 ? shape : this.partShape, n * x, n * y, this.shapeDerivative);
      }
    }
    this.isSteep = hasBeam || (shadow > EDGE && shadow < 1 - EDGE);
    const lit = halo * (1 - shadow);
    active[0] = 0;
    derivative[0] = -lit * alongX;
    active[1] = 1;
    derivative[1] = -lit * alongY * this.aspect;
    for (let k = 0; k < 4; k++) {
      active[2 + k] = fBase + k;
      derivative[2 + k] = lit * basis[k]!;
      active[6 + k] = cBase + k;
      derivative[6 + k] = lit * cos2 * harmonicBasis[k]!;
      active[10 + k] = sBase + k;
      derivative[10 + k] = lit * sin2 * harmonicBasis[k]!;
    }
    let count = 14;
    if (hasBeam)
      for (let k = 0; k < 4; k++) {
        if (firstBeam + k < 0 || firstBeam + k >= this.beamKnots) continue;
        active[count] = this.beamIndex + firstBeam + k;
        derivative[count++] = lit * this.beamBasis[k]!;
      }
    this.activeCount = count;
    if (!hasShadow || this.stop === undefined) return lit;
    const level = parameters[this.levelIndex]!;
    active[count] = this.levelIndex;
    derivative[count++] = shadow;
    const shapeSize = SHAPE_SIZE[this.stop];
    for (let k = 0; k < shapeSize; k++) {
      active[count] = this.shapeIndex + k;
      // A part's fraction was asked for in lengths of the part; the turn has none.
      derivative[count++] = (level - halo) * this.shapeDerivative[k]! * (k === TURN_INDEX ? 1 : n);
    }
    this.activeCount = count;
    return lit + level * shadow + 1e-12;
  }

  /** `expected`, with its derivatives times `factor` added to `into` (size entries). */
  addExpected(
    parameters: Float64Array,
    x: number,
    y: number,
    { factor, into }: { factor: number; into: Float64Array },
  ) {
    const mu = this.expected(parameters, x, y);
    for (let a = 0; a < this.activeCount; a++) into[this.active[a]!]! += factor * this.derivative[a]!;
    return mu;
  }

  /**
   * How rough the profile is beyond a radius, in the measure of `roughness`: root mean square over the next few knots of
   * its second difference and that difference's own sigma, so that a fit that hardly knows says so.
   */
  roughnessBeyond(radius: number, { parameters, covariance }: Pick<Climb, "parameters" | "covariance">): number {
    const n = this.size;
    const first = 2 + Math.ceil(radius / this.spacing);
    const last = Math.min(first + ROUGHNESS_KNOTS, this.knots);
    const weights = [1, -2, 1];
    let sum = 0;
    for (let k = first; k < last; k++) {
      let bend = 0;
      for (let a = 0; a < 3; a++) {
        bend += weights[a]! * parameters[k + a]!;
        for (let b = 0; b < 3; b++) sum += weights[a]! * weights[b]! * covariance[(k + a) * n + k + b]!;
      }
      sum += bend * bend;
    }
    return last > first ? Math.sqrt(sum / (last - first)) : this.roughness;
  }

  /** The log-likelihood, on the scale of `evaluate`, of the same count everywhere. */
  flatValue(): number {
    const { counts } = this.pixels;
    let total = 0;
    let saturated = 0;
    for (let i = 0; i < counts.length; i++) {
      total += counts[i]!;
      saturated += this.saturated[i]!;
    }
    return total > 0 ? total * ln(total / counts.length) - total - saturated : 0;
  }

  /** Pearson's chi-square over degrees of freedom: 1 where nothing but counting scatters. */
  chiSquare(parameters: Float64Array): number {
    let sum = 0;
    const { x, y, counts } = this.pixels;
    for (let i = 0; i < counts.length; i++) {
      const mu = this.expected(parameters, x[i]!, y[i]!);
      const residual = counts[i]! - mu;
      sum += (residual * residual) / mu;
    }
    return sum / Math.max(1, counts.length - this.size);
  }

  private addPriors(parameters: Float64Array, gradient: Float64Array, information: Float64Array): number {
    let value = 0;
    const { x, y, sigma } = this.prior;
    const sums = { parameters, gradient, information };
    value += pull({ index: 0, target: x, sigma }, sums);
    value += pull({ index: 1, target: y, sigma }, sums);
    value += smooth({ base: 2, count: this.knots, sigma: this.roughness }, sums);
    if (this.beamKnots > 0) {
      const beam = { base: this.beamIndex, count: this.beamKnots, sigma: BEAM_ROUGHNESS };
      value += smooth(beam, sums);
      for (let k = 0; k < this.beamKnots; k++)
        value += pull({ index: this.beamIndex + k, target: 0, sigma: BEAM_HEIGHT }, sums);
    }
    for (let h = 0; h < 2; h++) {
      const base = 2 + this.knots + h * HARMONIC_KNOTS;
      for (let k = 0; k < HARMONIC_KNOTS; k++)
        value += pull({ index: base + k, target: 0, sigma: this.anisotropy }, sums);
    }
    return value;
  }
}
