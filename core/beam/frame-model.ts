import { exp, ln } from "../model/steady-math.ts";
import type { CountFrame } from "./count-frame.ts";
import type { Likelihood } from "./likelihood-climb.ts";
import { SHAPE_SIZE, type ShapeKind, shadowFraction, shapeReach } from "./stop-shape.ts";

/** The pixels of a fit: positions in px and counts. */
export interface FitPixels {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly counts: Float64Array;
}

/** Collects the pixels that `use` accepts. */
export function fitPixels(frame: CountFrame, use: (x: number, y: number, p: number) => boolean): FitPixels {
  const x: number[] = [];
  const y: number[] = [];
  const counts: number[] = [];
  for (let row = 0; row < frame.height; row++) {
    for (let column = 0; column < frame.width; column++) {
      const p = row * frame.width + column;
      if (!use(column, row, p)) continue;
      x.push(column);
      y.push(row);
      counts.push(frame.counts[p]!);
    }
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y), counts: Float64Array.from(counts) };
}

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
}

// Second differences of the logarithm from knot to knot: what a smooth profile may do where no count says otherwise.
const ROUGHNESS = 0.5;
// Relative strength of the twofold part, before any count has spoken.
const ANISOTROPY = 2;
const HARMONIC_KNOTS = 8;
const SMALLEST_KNOT_SPACING = 2;
const MOST_KNOTS = 45;
/** Of a logarithm: far beyond any count, and its exponential is finite. */
const MOST_LOG = 60;
const FREE = Number.POSITIVE_INFINITY;
const [LEAST_PENUMBRA, MOST_PENUMBRA, LEAST_SIZE] = [0.03, 6, 0.7];
// tan(turn / 2) for turns of -60..60 degrees: beyond 45 the sides only change names.
const MOST_TURN = 0.577;
const LOWEST_SHAPE: Readonly<Record<ShapeKind, readonly number[]>> = {
  circle: [-FREE, -FREE, LEAST_PENUMBRA, LEAST_SIZE],
  rectangle: [-FREE, -FREE, LEAST_PENUMBRA, LEAST_SIZE, LEAST_SIZE, -MOST_TURN],
};
const HIGHEST_SHAPE: Readonly<Record<ShapeKind, readonly number[]>> = {
  circle: [FREE, FREE, MOST_PENUMBRA, FREE],
  rectangle: [FREE, FREE, MOST_PENUMBRA, FREE, FREE, MOST_TURN],
};

/**
 * The counts expected in every pixel of a frame around a beam:
 *
 *   mu = h (1 - S) + level S,   ln h = f(r) + c(r) cos 2 phi + s(r) sin 2 phi
 *
 * f, c and s are cubic splines on even knots, S is the shadowed fraction of a stop. h is even under inversion through
 * the centre, so anisotropy of the sample does not pull the centre, and every pixel is compared with its own expected
 * count: nothing is interpolated, which would smooth noise and bias the answer.
 *
 * Parameters: centre x, y; f; c; s; and with a stop: level, then the shape. Weak priors on roughness, anisotropy and
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
  private readonly active = new Int32Array(32);
  private readonly derivative = new Float64Array(32);
  private readonly basis = new Float64Array(8);
  private readonly harmonicBasis = new Float64Array(8);
  private readonly shapeDerivative = new Float64Array(8);
  private activeCount = 0;
  private viewed: Float64Array | undefined;
  private shape: Float64Array = new Float64Array(0);

  constructor({ pixels, aspect, reach, centrePrior, stop, roughness, anisotropy }: FrameModelOptions) {
    this.roughness = roughness ?? ROUGHNESS;
    this.anisotropy = anisotropy ?? ANISOTROPY;
    this.pixels = pixels;
    this.aspect = aspect;
    this.prior = centrePrior;
    this.stop = stop;
    this.spacing = Math.max(SMALLEST_KNOT_SPACING, reach / MOST_KNOTS);
    this.knots = Math.ceil(reach / this.spacing) + 3;
    this.harmonicSpacing = reach / (HARMONIC_KNOTS - 3);
    this.levelIndex = 2 + this.knots + 2 * HARMONIC_KNOTS;
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
    return parameters;
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

  /** Expected counts at (x, y); leaves the derivatives in `active` and `derivative`. */
  expected(parameters: Float64Array, x: number, y: number): number {
    const { active, derivative, basis, harmonicBasis } = this;
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
    const halo = exp(Math.min(MOST_LOG, Math.max(-MOST_LOG, f + c * cos2 + s * sin2)));
    const radial = (fSlope / this.spacing + (cSlope * cos2 + sSlope * sin2) / this.harmonicSpacing) / r;
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
        shadow = shadowFraction(this.stop, shape, x, y, this.shapeDerivative);
      }
    }
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
    this.activeCount = 14;
    if (!hasShadow || this.stop === undefined) return lit;
    const level = parameters[this.levelIndex]!;
    active[14] = this.levelIndex;
    derivative[14] = shadow;
    const shapeSize = SHAPE_SIZE[this.stop];
    for (let k = 0; k < shapeSize; k++) {
      active[15 + k] = this.shapeIndex + k;
      derivative[15 + k] = (level - halo) * this.shapeDerivative[k]!;
    }
    this.activeCount = 15 + shapeSize;
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
    value += pull(parameters, gradient, information, { index: 0, target: x, sigma, size: this.size });
    value += pull(parameters, gradient, information, { index: 1, target: y, sigma, size: this.size });
    value += this.smooth(2, this.knots, parameters, gradient, information);
    for (let h = 0; h < 2; h++) {
      const base = 2 + this.knots + h * HARMONIC_KNOTS;
      for (let k = 0; k < HARMONIC_KNOTS; k++)
        value += pull(parameters, gradient, information, {
          index: base + k,
          target: 0,
          sigma: this.anisotropy,
          size: this.size,
        });
    }
    return value;
  }

  private smooth(
    base: number,
    count: number,
    parameters: Float64Array,
    gradient: Float64Array,
    information: Float64Array,
  ): number {
    const w = 1 / (this.roughness * this.roughness);
    const weights = [1, -2, 1];
    let value = 0;
    for (let k = base; k + 2 < base + count; k++) {
      const bend = parameters[k]! - 2 * parameters[k + 1]! + parameters[k + 2]!;
      value -= 0.5 * w * bend * bend;
      for (let a = 0; a < 3; a++) {
        gradient[k + a]! -= w * bend * weights[a]!;
        for (let b = 0; b <= a; b++) information[(k + a) * this.size + k + b]! += w * weights[a]! * weights[b]!;
      }
    }
    return value;
  }
}

function pull(
  parameters: Float64Array,
  gradient: Float64Array,
  information: Float64Array,
  { index, target, sigma, size }: { index: number; target: number; sigma: number; size: number },
): number {
  const away = (parameters[index]! - target) / sigma;
  gradient[index]! -= away / sigma;
  information[index * size + index]! += 1 / (sigma * sigma);
  return -0.5 * away * away;
}

/**
 * Uniform cubic B-spline: the index of the first of four coefficients at position `u` (knot spacings), with their
 * weights in out[0..3] and the weights' derivatives in out[4..7].
 */
function splineBasis(u: number, knots: number, out: Float64Array): number {
  const most = knots - 3;
  const inside = Math.min(u, most);
  const first = inside < most ? Math.floor(inside) : most - 1;
  const t = inside - first;
  const rest = 1 - t;
  out[0] = (rest * rest * rest) / 6;
  out[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
  out[2] = (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6;
  out[3] = (t * t * t) / 6;
  const beyond = u > most ? 0 : 0.5;
  out[4] = -beyond * rest * rest;
  out[5] = beyond * (3 * t * t - 4 * t);
  out[6] = beyond * (-3 * t * t + 2 * t + 1);
  out[7] = beyond * t * t;
  return first;
}
