import type { StopOutline } from "../model/measured.ts";
import { atan2 } from "../model/steady-math.ts";
import type { CountFrame } from "./count-frame.ts";
import { outlineDistance, outlineShape, type ShapeKind, shadowFraction } from "./stop-shape.ts";

/** A pixel outside the outline, near it. */
export interface RimPixel {
  readonly p: number;
  readonly x: number;
  readonly y: number;
  /** Distance to the outline, px. */
  readonly away: number;
  /** Fraction that the stop leaves free, and what it gains where the edge steps back, 1/px. */
  readonly open: number;
  readonly opening: number;
}

/** A part of the rim between two directions from the stop's centre. */
export interface RimPart {
  /** Middle, array coordinates, rad, 0 <= phi < 2 pi. */
  readonly phi: number;
  readonly pixels: readonly RimPixel[];
}

export interface Edge {
  readonly outline: StopOutline;
  /** Gaussian sigma, px. */
  readonly penumbra: number;
}

const MOST_SEGMENTS = 24;
const FEWEST_SEGMENTS = 4;
const PIXELS_A_SEGMENT = 4;

/** The good pixels from the outline to `width` px beyond it, in equal angles; empty where too few pixels see the rim. */
export function rimSegments(frame: CountFrame, edge: Edge, width: number, isGood: (p: number) => boolean): RimPart[] {
  const rim: (RimPixel & { turn: number })[] = [];
  for (let y = 0; y < frame.height; y++) {
    for (let x = 0; x < frame.width; x++) {
      const p = y * frame.width + x;
      if (!isGood(p)) continue;
      const away = outlineDistance(edge.outline, x, y);
      if (away < 0 || away > width) continue;
      rim.push({ p, x, y, away, turn: turnOf(edge.outline, x, y), ...openFraction(edge, x, y) });
    }
  }
  const count = Math.min(MOST_SEGMENTS, Math.floor(rim.length / PIXELS_A_SEGMENT));
  if (count < FEWEST_SEGMENTS) return [];
  return Array.from({ length: count }, (_, k) => ({
    phi: ((k + 0.5) / count) * 2 * Math.PI,
    pixels: rim.filter(({ turn }) => Math.min(count - 1, Math.floor(turn * count)) === k),
  })).filter(({ pixels }) => pixels.length > 0);
}

/** Direction from the stop's centre in turns, 0..1. */
export function turnOf(outline: StopOutline, x: number, y: number): number {
  const turn = atan2(y - outline.y, x - outline.x) / (2 * Math.PI);
  return turn < 0 ? turn + 1 : turn;
}

const derivatives = new Float64Array(8);
/** Of `shadowFraction`: how the shadow grows with the half sizes. */
const GROWTH: Readonly<Record<ShapeKind, () => number>> = {
  circle: () => derivatives[3]!,
  rectangle: () => 2 * (derivatives[3]! + derivatives[4]!),
};

function openFraction({ outline, penumbra }: Edge, x: number, y: number): Pick<RimPixel, "open" | "opening"> {
  const { kind, shape } = outlineShape(outline, Math.max(penumbra, 1e-3));
  return { open: 1 - shadowFraction(kind, shape, x, y, derivatives), opening: GROWTH[kind]() };
}
