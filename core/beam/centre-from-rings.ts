import { failure, type Result, success } from "../model/result.ts";
import { atan2, exp, ln, power } from "../model/steady-math.ts";
import { circleThroughPoints } from "./circle-through-points.ts";
import { type CountFrame, requireCountFrame } from "./count-frame.ts";
import { type FitPixels, fitPixels } from "./fit-pixels.ts";
import { climb, type Likelihood } from "./likelihood-climb.ts";
import { ringDistance, ringRadius } from "./ring-distance.ts";
import { square } from "./square.ts";

export interface RingCentreOptions {
  readonly dSpacing: number;
  /** Pixel pitch along x and y, m; without it a ring is taken as round in pixels and no distance is given. */
  readonly pixelSize?: readonly [number, number];
  /** angstrom */
  readonly wavelength?: number;
  /** m; tells which order the ring is. Without it the strongest ring is taken as the first order. */
  readonly distance?: number;
  readonly start?: { readonly x: number; readonly y: number };
}

export interface RingCentre {
  readonly x: number;
  readonly y: number;
  readonly xSigma: number;
  readonly ySigma: number;
  readonly order: number;
  /** In pitches along x. */
  readonly radius: number;
  readonly radiusSigma: number;
  /** m; where wavelength and pixel size are known. */
  readonly distance?: number;
  readonly distanceSigma?: number;
}

const SECTORS = 36;
/** The sectors' middles, by turning on from 5 by 10 degrees: sums and products are the same on every machine. */
const DIRECTIONS = directions({ cos: 0.9961946980917455, sin: 0.08715574274765817 });
const LEAST_SECTORS = 9;
const ROUNDS = 8;
const LEAST_PEAK_SIGMAS = 5;
const FREE = Number.POSITIVE_INFINITY;

/**
 * Beam centre from a powder ring: the ring is found in 36 sectors about a starting centre, a circle is put through the
 * maxima, and the pixels around it are fitted by Poisson maximum likelihood with a Gaussian ring on a sloping
 * background. With wavelength and pixel size the radius gives the distance.
 *
 * @returns a fault where no ring shows, or where less than a quarter of it does
 */
export function centreFromRings(frame: CountFrame, options: RingCentreOptions): Result<RingCentre> {
  requireCountFrame(frame);
  const aspect = options.pixelSize === undefined ? 1 : options.pixelSize[1] / options.pixelSize[0];
  const start = options.start ?? { x: (frame.width - 1) / 2, y: (frame.height - 1) / 2 };
  const rough = roughRing(frame, aspect, start);
  if (!rough.ok) return rough;
  const fitted = fitRing(frame, aspect, rough.value);
  if (!fitted.ok) return fitted;
  const ring = fitted.value;
  const { wavelength, pixelSize, dSpacing } = options;
  if (wavelength === undefined || pixelSize === undefined) return success({ ...ring, order: 1 });
  const order = options.distance === undefined ? 1 : nearestOrder(ring.radius * pixelSize[0], options);
  const distance = ringDistance(ring.radius * pixelSize[0], dSpacing, wavelength, order);
  if (!distance.ok) return distance;
  return success({
    ...ring,
    order,
    distance: distance.value,
    distanceSigma: (distance.value * ring.radiusSigma) / ring.radius,
  });
}

function directions(first: { cos: number; sin: number }): { cos: number; sin: number }[] {
  const [cos10, sin10] = [0.984807753012208, 0.17364817766693033];
  const list = [first];
  for (let k = 1; k < SECTORS; k++) {
    const { cos, sin } = list[k - 1]!;
    list.push({ cos: cos * cos10 - sin * sin10, sin: sin * cos10 + cos * sin10 });
  }
  return list;
}

function nearestOrder(radius: number, { dSpacing, wavelength, distance }: RingCentreOptions): number {
  let best = 1;
  let least = Number.POSITIVE_INFINITY;
  for (let order = 1; order <= 5; order++) {
    const expected = ringRadius(distance!, dSpacing, wavelength!, order);
    if (!expected.ok) break;
    const away = Math.abs(expected.value - radius);
    if (away < least) [best, least] = [order, away];
  }
  return best;
}

interface RoughRing {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly width: number;
}

/** Profiles of whole-pixel radii in every sector; the ring's place in each; a circle through them; again from there. */
function roughRing(
  frame: CountFrame,
  aspect: number,
  start: { readonly x: number; readonly y: number },
): Result<RoughRing> {
  let { x, y } = start;
  let ring: RoughRing | undefined;
  for (let round = 0; round < ROUNDS; round++) {
    const points: [number, number][] = [];
    const widths: number[] = [];
    const profiles = sectorProfiles(frame, aspect, { x, y });
    for (let sector = 0; sector < SECTORS; sector++) {
      const peak = highestPeak(profiles, sector, ring?.radius, round);
      if (peak === undefined) continue;
      const { cos, sin } = DIRECTIONS[sector]!;
      points.push([x + peak.radius * cos, y * aspect + peak.radius * sin]);
      widths.push(peak.width);
    }
    const circle = points.length < LEAST_SECTORS ? undefined : circleWithoutOutliers(points);
    if (circle === undefined)
      return failure(
        "inconsistent",
        `no ring shows: only ${points.length} of ${SECTORS} sectors have a peak, ${LEAST_SECTORS} are needed`,
      );
    widths.sort((a, b) => a - b);
    const moved = Math.abs(circle.x - x) + Math.abs(circle.y / aspect - y);
    ring = { x: circle.x, y: circle.y / aspect, radius: circle.radius, width: widths[widths.length >> 1]! };
    x = ring.x;
    y = ring.y;
    if (moved < 0.05) break;
  }
  return success(ring!);
}

function circleWithoutOutliers(points: readonly [number, number][]) {
  let kept = points;
  for (let pass = 0; pass < 4; pass++) {
    const circle = circleThroughPoints(kept);
    if (!circle.ok) return undefined;
    const { x, y, radius } = circle.value;
    const away = ([px, py]: readonly [number, number]): number =>
      Math.abs(Math.sqrt(square(px - x) + square(py - y)) - radius);
    const typical = kept.map(away).sort((a, b) => a - b)[kept.length >> 1]!;
    const next = kept.filter((p) => away(p) <= 3 * Math.max(typical, 0.3));
    if (next.length === kept.length) return circle.value;
    if (next.length < LEAST_SECTORS) return undefined;
    kept = next;
  }
  const circle = circleThroughPoints(kept);
  return circle.ok ? circle.value : undefined;
}

interface Profiles {
  readonly length: number;
  readonly counts: Float64Array;
  readonly pixels: Float64Array;
}

function sectorProfiles(frame: CountFrame, aspect: number, { x, y }: { x: number; y: number }): Profiles {
  const length = Math.ceil(Math.sqrt(square(frame.width) + square(aspect * frame.height))) + 1;
  const counts = new Float64Array(SECTORS * length);
  const pixels = new Float64Array(SECTORS * length);
  for (let row = 0; row < frame.height; row++) {
    for (let column = 0; column < frame.width; column++) {
      const p = row * frame.width + column;
      if (frame.mask[p] !== 0) continue;
      const dx = column - x;
      const dy = (row - y) * aspect;
      const turn = atan2(dy, dx) / (2 * Math.PI);
      const sector = Math.min(SECTORS - 1, Math.floor((turn < 0 ? turn + 1 : turn) * SECTORS));
      const k = sector * length + Math.min(length - 1, Math.floor(Math.sqrt(dx * dx + dy * dy)));
      counts[k]! += frame.counts[p]!;
      pixels[k]!++;
    }
  }
  return { length, counts, pixels };
}

/**
 * The most significant bump of a sector's profile: three radii against three on each side, two radii away. From the
 * second round on it must lie near the ring found before.
 */
function highestPeak(
  { length, counts, pixels }: Profiles,
  sector: number,
  near: number | undefined,
  round: number,
): { radius: number; width: number } | undefined {
  const sum = (table: Float64Array, from: number, to: number): number => {
    let total = 0;
    for (let r = from; r <= to; r++) total += table[sector * length + r]!;
    return total;
  };
  let best: { radius: number; width: number } | undefined;
  let most = LEAST_PEAK_SIGMAS;
  const slack = near === undefined ? 0 : Math.max(3, near * 0.3 * power(0.6, round));
  for (let r = 7; r + 7 < length; r++) {
    if (near !== undefined && Math.abs(r + 0.5 - near) > slack) continue;
    const middle = sum(pixels, r - 1, r + 1);
    const left = sum(pixels, r - 6, r - 4);
    const right = sum(pixels, r + 4, r + 6);
    if (middle === 0 || left === 0 || right === 0) continue;
    const height = sum(counts, r - 1, r + 1);
    const low = sum(counts, r - 6, r - 4);
    const high = sum(counts, r + 4, r + 6);
    const base = (low / left + high / right) / 2;
    const excess = height / middle - base;
    const variance = (height + 1) / square(middle) + (low + 1) / (4 * square(left)) + (high + 1) / (4 * square(right));
    const significance = excess / Math.sqrt(variance);
    if (significance <= most) continue;
    most = significance;
    best = peakShape(counts, pixels, sector * length, r, base);
  }
  return best;
}

function peakShape(counts: Float64Array, pixels: Float64Array, offset: number, r: number, base: number) {
  let sum = 0;
  let first = 0;
  let second = 0;
  for (let k = r - 4; k <= r + 4; k++) {
    const n = pixels[offset + k]!;
    const above = n > 0 ? Math.max(0, counts[offset + k]! / n - base) : 0;
    sum += above;
    first += above * (k + 0.5);
    second += above * square(k + 0.5);
  }
  const radius = sum > 0 ? first / sum : r + 0.5;
  return { radius, width: sum > 0 ? Math.sqrt(Math.max(0.25, second / sum - radius * radius)) : 1 };
}

/** mu = b (1 + slope (r - R)) + A exp(-(r - R)^2 / (2 w^2)); parameters x, y, R, ln w, ln A, ln b, slope. */
class RingModel implements Likelihood {
  readonly size = 7;
  readonly lowest = Float64Array.of(-FREE, -FREE, 0, -1, -20, -20, -0.2);
  readonly highest = Float64Array.of(FREE, FREE, FREE, 3, 50, 50, 0.2);
  readonly pixels: FitPixels;
  readonly aspect: number;
  private readonly derivative = new Float64Array(7);

  constructor(pixels: FitPixels, aspect: number) {
    this.pixels = pixels;
    this.aspect = aspect;
  }

  evaluate(parameters: Float64Array, gradient: Float64Array, information: Float64Array): number {
    gradient.fill(0);
    information.fill(0);
    const { x, y, counts } = this.pixels;
    const d = this.derivative;
    let value = 0;
    for (let i = 0; i < counts.length; i++) {
      const mu = this.expected(parameters, x[i]!, y[i]!);
      value += counts[i]! * ln(mu) - mu;
      const residual = counts[i]! / mu - 1;
      for (let a = 0; a < 7; a++) {
        gradient[a]! += residual * d[a]!;
        for (let b = 0; b <= a; b++) information[a * 7 + b]! += (d[a]! * d[b]!) / mu;
      }
    }
    return value;
  }

  expected(parameters: Float64Array, x: number, y: number): number {
    const d = this.derivative;
    const dx = x - parameters[0]!;
    const dy = (y - parameters[1]!) * this.aspect;
    const r = Math.sqrt(dx * dx + dy * dy + 1e-9);
    const away = r - parameters[2]!;
    const width = exp(parameters[3]!);
    const peak = exp(parameters[4]! - (away * away) / (2 * width * width));
    const base = exp(parameters[5]!);
    const tilted = Math.max(0.05, 1 + parameters[6]! * away);
    const withRadius = base * parameters[6]! - (peak * away) / (width * width);
    d[0] = (-withRadius * dx) / r;
    d[1] = (-withRadius * dy * this.aspect) / r;
    d[2] = -withRadius;
    d[3] = (peak * away * away) / (width * width);
    d[4] = peak;
    d[5] = base * tilted;
    d[6] = base * away;
    return peak + base * tilted;
  }
}

function fitRing(
  frame: CountFrame,
  aspect: number,
  rough: RoughRing,
): Result<Omit<RingCentre, "order" | "distance" | "distanceSigma">> {
  const half = Math.min(rough.radius * 0.6, Math.max(4, 4 * rough.width));
  const pixels = fitPixels(frame, (x, y, p) => {
    const dx = x - rough.x;
    const dy = (y - rough.y) * aspect;
    return frame.mask[p] === 0 && Math.abs(Math.sqrt(dx * dx + dy * dy) - rough.radius) <= half;
  });
  const model = new RingModel(pixels, aspect);
  const sorted = pixels.counts.slice().sort();
  const base = Math.max(0.1, sorted[Math.floor(sorted.length * 0.2)]!);
  const top = Math.max(base * 0.2, sorted[Math.floor(sorted.length * 0.95)]! - base);
  const start = Float64Array.of(rough.x, rough.y, rough.radius, ln(rough.width), ln(top), ln(base), 0);
  const { parameters, covariance, converged } = climb(model, start);
  let chi = 0;
  for (let i = 0; i < pixels.counts.length; i++) {
    const mu = model.expected(parameters, pixels.x[i]!, pixels.y[i]!);
    chi += square(pixels.counts[i]! - mu) / mu;
  }
  const widen = Math.sqrt(Math.max(1, chi / Math.max(1, pixels.counts.length - model.size)));
  const sigma = (k: number): number => widen * Math.sqrt(covariance[k * model.size + k]!);
  const amplitudeSigma = sigma(4);
  if (!converged || !(amplitudeSigma < 1 / LEAST_PEAK_SIGMAS) || !(sigma(0) < 2 && sigma(1) < 2))
    return failure("inconsistent", "the ring is too weak or too incomplete to give the beam centre");
  return success({
    x: parameters[0]!,
    y: parameters[1]!,
    xSigma: sigma(0),
    ySigma: sigma(1),
    radius: parameters[2]!,
    radiusSigma: sigma(2),
  });
}
