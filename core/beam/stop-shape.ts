import type { StopOutline } from "../model/measured.ts";
import { tan } from "../model/steady-math.ts";
import { square } from "./square.ts";
import { blurredEdge, type EdgeValues } from "./stop-edge.ts";

/**
 * An outline as the fit moves it: circle [x, y, penumbra, radius], rectangle [x, y, penumbra, width, height,
 * tan(turn / 2)]. The half-angle tangent keeps sine and cosine algebraic, hence the same on every machine.
 */
export const SHAPE_SIZE = { circle: 4, rectangle: 6 } as const;

const FREE = Number.POSITIVE_INFINITY;
const [LEAST_PENUMBRA, MOST_PENUMBRA, LEAST_SIZE] = [0.03, 6, 0.7];
// tan(turn / 2) for turns of -60..60 degrees: beyond 45 the sides only change names.
const MOST_TURN = 0.577;
/** Bounds of a shape's parameters, in their order. */
export const LOWEST_SHAPE: Readonly<Record<ShapeKind, readonly number[]>> = {
  circle: [-FREE, -FREE, LEAST_PENUMBRA, LEAST_SIZE],
  rectangle: [-FREE, -FREE, LEAST_PENUMBRA, LEAST_SIZE, LEAST_SIZE, -MOST_TURN],
};
export const HIGHEST_SHAPE: Readonly<Record<ShapeKind, readonly number[]>> = {
  circle: [FREE, FREE, MOST_PENUMBRA, FREE],
  rectangle: [FREE, FREE, MOST_PENUMBRA, FREE, FREE, MOST_TURN],
};

export type ShapeKind = keyof typeof SHAPE_SIZE;
export const PENUMBRA_INDEX = 2;
/** Of a rectangle; the only parameter that is no length. */
export const TURN_INDEX = 5;

const edgeA: EdgeValues = { value: 0, slope: 0, bend: 0 };
const edgeB: EdgeValues = { value: 0, slope: 0, bend: 0 };
const edgeC: EdgeValues = { value: 0, slope: 0, bend: 0 };
const edgeD: EdgeValues = { value: 0, slope: 0, bend: 0 };

/**
 * Fraction of the pixel at (x, y) that the stop shadows, 0..1, and its derivatives with the shape's parameters.
 *
 * Rectangle: the product of the two strips, each blurred and integrated over the pixel; exact away from the corners,
 * and at the corners too where the rectangle isn't turned. Circle: the nearest edge as a straight line, with the mean
 * of the distance over pixel and penumbra corrected to second order, (1/12 + s^2) / (2 r).
 *
 * @param derivatives filled from index 0, SHAPE_SIZE entries
 */
export function shadowFraction(
  kind: ShapeKind,
  shape: ArrayLike<number>,
  x: number,
  y: number,
  derivatives: Float64Array,
): number {
  return kind === "circle" ? circle(shape, x, y, derivatives) : rectangle(shape, x, y, derivatives);
}

function circle(shape: ArrayLike<number>, x: number, y: number, derivatives: Float64Array): number {
  const s = shape[PENUMBRA_INDEX]!;
  const dx = x - shape[0]!;
  const dy = y - shape[1]!;
  const r = Math.sqrt(dx * dx + dy * dy + 1e-6);
  const spread = 1 / 12 + s * s;
  // Close to the middle the correction would diverge; it belongs to the rim.
  const farR = Math.max(r, 0.5);
  // In the very middle any direction will do.
  const [normalX, normalY] = r > 0.01 ? [dx / r, dy / r] : [1, 0];
  const edge = blurredEdge(shape[3]! - r - spread / (2 * farR), s, normalX, normalY, edgeA);
  const stretch = r > 0.5 ? 1 - spread / (2 * r * r) : 1;
  derivatives[0] = edge.slope * stretch * normalX;
  derivatives[1] = edge.slope * stretch * normalY;
  derivatives[2] = s * edge.bend - (edge.slope * s) / farR;
  derivatives[3] = edge.slope;
  return edge.value;
}

function rectangle(shape: ArrayLike<number>, x: number, y: number, derivatives: Float64Array): number {
  const s = shape[PENUMBRA_INDEX]!;
  const t = shape[5]!;
  const cos = (1 - t * t) / (1 + t * t);
  const sin = (2 * t) / (1 + t * t);
  const dx = x - shape[0]!;
  const dy = y - shape[1]!;
  const u = cos * dx + sin * dy;
  const v = cos * dy - sin * dx;
  const right = blurredEdge(shape[3]! / 2 - u, s, cos, sin, edgeA);
  const left = blurredEdge(shape[3]! / 2 + u, s, cos, sin, edgeB);
  const high = blurredEdge(shape[4]! / 2 - v, s, cos, sin, edgeC);
  const low = blurredEdge(shape[4]! / 2 + v, s, cos, sin, edgeD);
  const across = right.value + left.value - 1;
  const up = high.value + low.value - 1;
  const du = (left.slope - right.slope) * up;
  const dv = (low.slope - high.slope) * across;
  derivatives[0] = sin * dv - cos * du;
  derivatives[1] = -sin * du - cos * dv;
  derivatives[2] = s * ((right.bend + left.bend) * up + (high.bend + low.bend) * across);
  derivatives[3] = 0.5 * (right.slope + left.slope) * up;
  derivatives[4] = 0.5 * (high.slope + low.slope) * across;
  // d turn / d t = 2 / (1 + t^2); du / d turn = v, dv / d turn = -u.
  derivatives[5] = ((v * du - u * dv) * 2) / (1 + t * t);
  return across * up;
}

/** Distance from the centre beyond which no pixel is shadowed, px. */
export function shapeReach(kind: ShapeKind, shape: ArrayLike<number>): number {
  const size = kind === "circle" ? shape[3]! : Math.sqrt(square(shape[3]!) + square(shape[4]!)) / 2;
  return size + 0.75 + 7 * shape[PENUMBRA_INDEX]!;
}

export function outlineShape(outline: StopOutline, penumbra: number): { kind: ShapeKind; shape: Float64Array } {
  if (outline.shape === "circle")
    return { kind: "circle", shape: Float64Array.of(outline.x, outline.y, penumbra, outline.radius) };
  const tangent = tan(outline.turn / 2);
  return {
    kind: "rectangle",
    shape: Float64Array.of(outline.x, outline.y, penumbra, outline.width, outline.height, tangent),
  };
}

/** Distance from a point to the outline, px: > 0 outside, < 0 inside. */
export function outlineDistance(outline: StopOutline, x: number, y: number): number {
  const dx = x - outline.x;
  const dy = y - outline.y;
  if (outline.shape === "circle") return Math.sqrt(dx * dx + dy * dy) - outline.radius;
  const [u, v] = intoOutline(outline.turn, dx, dy);
  const beyondU = Math.abs(u) - outline.width / 2;
  const beyondV = Math.abs(v) - outline.height / 2;
  if (beyondU > 0 && beyondV > 0) return Math.sqrt(beyondU * beyondU + beyondV * beyondV);
  return Math.max(beyondU, beyondV);
}

/** Direction, array coordinates, unit length, in which the outline is nearest to a point inside it. */
export function nearestRimDirection(outline: StopOutline, x: number, y: number): readonly [number, number] {
  const dx = x - outline.x;
  const dy = y - outline.y;
  if (outline.shape === "circle") {
    const r = Math.sqrt(dx * dx + dy * dy);
    return r > 0 ? [dx / r, dy / r] : [1, 0];
  }
  const t = tan(outline.turn / 2);
  const cos = (1 - t * t) / (1 + t * t);
  const sin = (2 * t) / (1 + t * t);
  const [u, v] = intoOutline(outline.turn, dx, dy);
  if (outline.width / 2 - Math.abs(u) < outline.height / 2 - Math.abs(v)) return u < 0 ? [-cos, -sin] : [cos, sin];
  return v < 0 ? [sin, -cos] : [-sin, cos];
}

/** Largest distance from a point to the outline, px: beyond it every direction is free. */
export function farthestOutline(outline: StopOutline, x: number, y: number): number {
  const dx = x - outline.x;
  const dy = y - outline.y;
  if (outline.shape === "circle") return Math.sqrt(dx * dx + dy * dy) + outline.radius;
  const [u, v] = intoOutline(outline.turn, dx, dy);
  return Math.sqrt(square(Math.abs(u) + outline.width / 2) + square(Math.abs(v) + outline.height / 2));
}

function intoOutline(turn: number, dx: number, dy: number): readonly [number, number] {
  const t = tan(turn / 2);
  const cos = (1 - t * t) / (1 + t * t);
  const sin = (2 * t) / (1 + t * t);
  return [cos * dx + sin * dy, cos * dy - sin * dx];
}
