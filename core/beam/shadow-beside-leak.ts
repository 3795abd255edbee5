import { MASK_REASONS } from "../model/mask.ts";
import type { StopOutline } from "../model/measured.ts";
import type { CountFrame } from "./count-frame.ts";
import { square } from "./square.ts";
import { findStopShadow, type StopShadow } from "./stop-shadow.ts";
import { farthestOutline, outlineDistance } from "./stop-shape.ts";

export interface LeakKnowledge {
  readonly beam: { readonly x: number; readonly y: number; readonly xSigma?: number; readonly ySigma?: number };
  readonly aspect: number;
  /** Pixels at the rim where direct beam shows. */
  readonly leaking: Int32Array;
}

/** How far beyond the pixels that stand out, and inside the outline, direct beam is allowed for, px. */
const BEYOND = 2;
const INSIDE = 2;
/** Two fits that differ by more than this, in sigma of their difference, show that one of the models is wrong. */
const CONSISTENT = 3;

/**
 * The shadow of a stop that direct beam passes. A fit of halo and stop alone is bent by it. Here the beam is part of what
 * lies behind the stop: a profile about the beam's centre, free but for being round. A second fit without the pixels
 * where it shows is the check: what the two differ by beyond their counting goes into the sigmas, because then the
 * beam is not round, or not about the centre that was given.
 */
export function shadowBesideLeak(
  frame: CountFrame,
  first: StopShadow,
  { beam, aspect, leaking }: LeakKnowledge,
): StopShadow {
  const mask = frame.mask.slice();
  for (const p of leaking) mask[p]! |= MASK_REASONS.shape;
  const without = findStopShadow({ ...frame, mask }, { aspect, near: first.outline });
  const start = without.found ? without : first;
  const { width } = frame;
  let [nearest, farthest] = [Number.POSITIVE_INFINITY, 0];
  for (const p of [...leaking, ...first.bright]) {
    const x = p % width;
    const y = (p - x) / width;
    if (outlineDistance(start.outline, x, y) < -INSIDE) continue;
    const r = Math.sqrt(square(x - beam.x) + square(aspect * (y - beam.y)));
    nearest = Math.min(nearest, r);
    farthest = Math.max(farthest, r);
  }
  const sigma = Math.max(beam.xSigma ?? UNKNOWN, beam.ySigma ?? UNKNOWN);
  const directBeam = { x: beam.x, y: beam.y, sigma, from: nearest - BEYOND, to: farthest + BEYOND };
  const within = findStopShadow(frame, { aspect, near: start.outline, directBeam });
  if (!within.found) return without.found ? { ...without, outline: widened(without.outline, first.outline, 0) } : first;
  return without.found ? { ...within, outline: widened(within.outline, without.outline, CONSISTENT) } : within;
}

/** Where direct beam may ring a dark place, from its edge, px. */
const RING = { inside: 3, outside: 5 };

/**
 * The shadow of a stop with direct beam all around it: no outline shows but that of the beam, and a fit of halo and stop
 * alone does not find one.
 *
 * @param near the darkest place
 */
export function shadowWithinBeam(
  frame: CountFrame,
  near: StopOutline,
  { beam, aspect }: Pick<LeakKnowledge, "beam" | "aspect">,
): StopShadow | undefined {
  const sigma = Math.max(beam.xSigma ?? UNKNOWN, beam.ySigma ?? UNKNOWN);
  const distance = -outlineDistance(near, beam.x, beam.y);
  if (!(distance > 0)) return undefined;
  const ring = { from: distance - RING.inside, to: farthestOutline(near, beam.x, beam.y) + RING.outside };
  const shadow = findStopShadow(frame, { aspect, near, directBeam: { x: beam.x, y: beam.y, sigma, ...ring } });
  return shadow.found ? shadow : undefined;
}

/** Of a beam centre that was given without a sigma, px. */
const UNKNOWN = 1;

/**
 * An outline whose sigmas hold what another fit differs from it by, where that is more than `limit` sigma of what counting
 * lets two fits of nested data differ by.
 */
function widened(outline: StopOutline, other: StopOutline, limit: number): StopOutline {
  const wider = (value: number, sigma = 0, otherValue = 0, otherSigma = 0): number => {
    const away = square(value - otherValue);
    const counting = Math.abs(square(otherSigma) - square(sigma));
    return away > square(limit) * counting ? Math.sqrt(square(sigma) + away) : sigma;
  };
  return {
    ...outline,
    xSigma: wider(outline.x, outline.xSigma, other.x, other.xSigma),
    ySigma: wider(outline.y, outline.ySigma, other.y, other.ySigma),
  };
}
