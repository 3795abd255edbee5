import { failure, type Result, success } from "../model/result.ts";
import { boxSum, boxSums, type CountFrame } from "./count-frame.ts";
import { square } from "./square.ts";

export interface Centroid {
  readonly x: number;
  readonly y: number;
  /** One standard deviation from counting, background included, px. */
  readonly xSigma: number;
  readonly ySigma: number;
  /** Net counts in the window, and their sigma. */
  readonly net: number;
  readonly netSigma: number;
  /** Counts a pixel that were taken off. */
  readonly background: number;
}

/** Where to sum: pixel centres within `radius` of (x, y), px. */
export interface Window {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/**
 * Centre of mass of the good pixels in a window: c = sum(N - B) c / sum(N - B). A background B pulls it to the window's
 * middle unless it is taken off.
 *
 * sigma^2 = sum N (c - c0)^2 / net^2 (the counts are Poisson; B, the mean of many pixels, is taken as exact).
 */
export function centreOfMass(frame: CountFrame, { x, y, radius }: Window, background: number): Centroid {
  let net = 0;
  let gross = 0;
  let sumX = 0;
  let sumY = 0;
  forWindow(frame, { x, y, radius }, (p, column, row) => {
    const signal = frame.counts[p]! - background;
    net += signal;
    gross += frame.counts[p]!;
    sumX += signal * (column - x);
    sumY += signal * (row - y);
  });
  const centreX = x + sumX / net;
  const centreY = y + sumY / net;
  let varianceX = 0;
  let varianceY = 0;
  forWindow(frame, { x, y, radius }, (p, column, row) => {
    varianceX += frame.counts[p]! * square(column - centreX);
    varianceY += frame.counts[p]! * square(row - centreY);
  });
  return {
    x: centreX,
    y: centreY,
    xSigma: Math.sqrt(varianceX) / net,
    ySigma: Math.sqrt(varianceY) / net,
    net,
    netSigma: Math.sqrt(gross),
    background,
  };
}

/** Calls back for every good pixel whose centre lies in the window. */
export function forWindow(
  frame: CountFrame,
  { x, y, radius }: Window,
  visit: (p: number, column: number, row: number) => void,
): void {
  const { width, height, mask } = frame;
  for (let row = Math.max(0, Math.ceil(y - radius)); row <= Math.min(height - 1, y + radius); row++) {
    for (let column = Math.max(0, Math.ceil(x - radius)); column <= Math.min(width - 1, x + radius); column++) {
      const p = row * width + column;
      if (mask[p] === 0 && square(column - x) + square(row - y) <= radius * radius) visit(p, column, row);
    }
  }
}

/** A direct beam in a frame without a stop. */
export interface DirectBeam extends Centroid {
  /** Radius of the window that holds it, px. */
  readonly radius: number;
  /** Root mean square extent along x and y, px. */
  readonly extentX: number;
  readonly extentY: number;
  /** Where the beam ends, px: 99.5 % of its net counts are in pixels nearer to its centre; their outer half included. */
  readonly edgeRadius: number;
}

const SMALLEST_WINDOW = 3;
/** Of the frame's side: a direct beam is smaller. */
const LARGEST_WINDOW = 0.25;
const LEAST_COUNTS = 20;
/** Where the rings have come down to this part of the peak, or to the background, the beam ends. */
const END_OF_BEAM = 1e-3;
const ROUNDS = 20;

/**
 * Finds the direct beam (the brightest 3 x 3 pixels), a window that holds it, and its centre of mass with the
 * background of the surrounding ring taken off. The window follows the centre until it stays.
 *
 * @returns a fault where nothing stands out, where the beam is cut off by the frame's edge, or where a masked pixel
 * lies in it
 */
export function findDirectBeam(frame: CountFrame): Result<DirectBeam> {
  const peak = brightestBlock(frame);
  if (peak === undefined) return failure("missing", "the direct-beam frame has no good pixels");
  const background = farMean(frame, peak.x, peak.y);
  const radius = beamRadius(frame, peak, background);
  if (radius === undefined)
    return failure(
      "inconsistent",
      "no direct beam stands out of the direct-beam frame: is the beam stop in, or is it a scattering run?",
    );
  let window: Window = { x: peak.x, y: peak.y, radius };
  let centroid: Centroid | undefined;
  for (let round = 0; round < ROUNDS; round++) {
    const level = ringMean(frame, window, radius + 1, radius + 4) ?? background;
    centroid = centreOfMass(frame, window, level);
    const still = Math.abs(centroid.x - window.x) < 1e-6 && Math.abs(centroid.y - window.y) < 1e-6;
    window = { x: centroid.x, y: centroid.y, radius };
    if (still) break;
  }
  const beam = centroid!;
  if (!(beam.net >= LEAST_COUNTS))
    return failure(
      "inconsistent",
      `the direct beam has ${Math.round(beam.net)} net counts; ${LEAST_COUNTS} are needed`,
    );
  if (
    beam.x - radius < -0.5 ||
    beam.y - radius < -0.5 ||
    beam.x + radius > frame.width - 0.5 ||
    beam.y + radius > frame.height - 0.5
  )
    return failure(
      "inconsistent",
      `the direct beam at (${beam.x.toFixed(1)}, ${beam.y.toFixed(1)}) px is cut off by the frame's edge`,
    );
  const masked = maskedWithin(frame, window);
  if (masked > 0)
    return failure(
      "inconsistent",
      `${masked} masked pixels lie in the direct beam at (${beam.x.toFixed(1)}, ${beam.y.toFixed(1)}) px: its centre of mass would be wrong; take the mask off there`,
    );
  return success({ ...beam, radius, ...extent(frame, window, beam), edgeRadius: edgeRadius(frame, window, beam) });
}

function brightestBlock(frame: CountFrame): { x: number; y: number; mean: number } | undefined {
  const sums = boxSums(frame);
  let best: { x: number; y: number; mean: number } | undefined;
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      const pixels = boxSum(sums.pixels, sums, x - 1, y - 1, x + 2, y + 2);
      if (pixels < 4) continue;
      const mean = boxSum(sums.counts, sums, x - 1, y - 1, x + 2, y + 2) / pixels;
      if (best === undefined || mean > best.mean) best = { x, y, mean };
    }
  }
  return best;
}

/** Mean of the good pixels well away from the beam. A mean: the median of a nearly empty frame is 0. */
function farMean({ width, height, counts, mask }: CountFrame, x: number, y: number): number {
  const near = square(Math.min(width, height) * LARGEST_WINDOW);
  let sum = 0;
  let pixels = 0;
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      const p = row * width + column;
      if (mask[p] !== 0 || square(column - x) + square(row - y) <= near) continue;
      sum += counts[p]!;
      pixels++;
    }
  }
  return pixels > 0 ? sum / pixels : 0;
}

function ringMean(frame: CountFrame, { x, y }: { x: number; y: number }, from: number, to: number): number | undefined {
  let sum = 0;
  let pixels = 0;
  forWindow(frame, { x, y, radius: to }, (p, column, row) => {
    if (square(column - x) + square(row - y) <= from * from) return;
    sum += frame.counts[p]!;
    pixels++;
  });
  return pixels > 0 ? sum / pixels : undefined;
}

function beamRadius(
  frame: CountFrame,
  peak: { x: number; y: number; mean: number },
  background: number,
): number | undefined {
  const height = peak.mean - background;
  // Nine pixels, five sigma.
  if (!(height * 9 > 5 * Math.sqrt(Math.max(peak.mean, 1) * 9))) return undefined;
  const largest = Math.min(frame.width, frame.height) * LARGEST_WINDOW;
  for (let r = SMALLEST_WINDOW; r <= largest; r++) {
    const ring = ringMean(frame, peak, r - 1, r + 1);
    if (ring === undefined) return undefined;
    const pixels = 4 * Math.PI * r;
    const chance = 2 * Math.sqrt(Math.max(background, 1 / pixels) / pixels);
    if (ring - background <= Math.max(chance, END_OF_BEAM * height)) return r + 1;
  }
  return undefined;
}

function maskedWithin({ width, height, mask }: CountFrame, { x, y, radius }: Window): number {
  let masked = 0;
  for (let row = Math.max(0, Math.ceil(y - radius)); row <= Math.min(height - 1, y + radius); row++)
    for (let column = Math.max(0, Math.ceil(x - radius)); column <= Math.min(width - 1, x + radius); column++)
      if (mask[row * width + column] !== 0 && square(column - x) + square(row - y) <= radius * radius) masked++;
  return masked;
}

function extent(frame: CountFrame, window: Window, beam: Centroid): { extentX: number; extentY: number } {
  let sumX = 0;
  let sumY = 0;
  forWindow(frame, window, (p, column, row) => {
    sumX += (frame.counts[p]! - beam.background) * square(column - beam.x);
    sumY += (frame.counts[p]! - beam.background) * square(row - beam.y);
  });
  return { extentX: Math.sqrt(Math.max(0, sumX / beam.net)), extentY: Math.sqrt(Math.max(0, sumY / beam.net)) };
}

const IN_THE_BEAM = 0.995;

/** Radius that holds 99.5 % of the net counts: from whole pixels in order of their distance. */
function edgeRadius(frame: CountFrame, window: Window, beam: Centroid): number {
  const pixels: { r: number; net: number }[] = [];
  forWindow(frame, window, (p, column, row) => {
    const r = Math.sqrt(square(column - beam.x) + square(row - beam.y));
    pixels.push({ r, net: frame.counts[p]! - beam.background });
  });
  pixels.sort((a, b) => a.r - b.r);
  let sum = 0;
  for (const { r, net } of pixels) {
    sum += net;
    if (sum >= IN_THE_BEAM * beam.net) return r + 0.5;
  }
  return window.radius;
}
