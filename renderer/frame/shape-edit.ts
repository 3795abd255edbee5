import type { MaskShape } from "../../core/plan/plan.ts";
import type { ArrayPoint } from "../view-types.ts";

/** A place on a shape that can be dragged. */
export interface ShapeHandle extends ArrayPoint {
  /** What the handle does, for screen readers: "radius", "corner 1". */
  readonly label: string;
}

/** Polygons with more corners than this (brush strokes) are moved as a whole only. */
const MOST_CORNERS = 40;
const LEAST_RADIUS = 0.5;

export function moved(shape: MaskShape, by: ArrayPoint): MaskShape {
  if (shape.kind !== "polygon") return { ...shape, x: tidy(shape.x + by.x), y: tidy(shape.y + by.y) };
  return { ...shape, points: shape.points.map(([x, y]) => [tidy(x + by.x), tidy(y + by.y)] as const) };
}

/** Rectangles and brush strokes stand on whole pixels; the rest moves freely. */
export function movesByWholePixels(shape: MaskShape): boolean {
  return shape.kind === "rectangle" || (shape.kind === "polygon" && shape.points.length > MOST_CORNERS);
}

export function handlesOf(shape: MaskShape): ShapeHandle[] {
  switch (shape.kind) {
    case "circle":
    case "outside-circle":
      return [{ x: shape.x + shape.r, y: shape.y, label: "radius" }];
    case "rectangle": {
      const [left, bottom] = [shape.x - 0.5, shape.y - 0.5];
      const [right, top] = [left + shape.width, bottom + shape.height];
      return [
        { x: left, y: bottom, label: "corner 1" },
        { x: right, y: bottom, label: "corner 2" },
        { x: right, y: top, label: "corner 3" },
        { x: left, y: top, label: "corner 4" },
      ];
    }
    case "polygon":
      if (shape.points.length > MOST_CORNERS) return [];
      return shape.points.map(([x, y], i) => ({ x, y, label: `corner ${i + 1}` }));
  }
}

/** The shape with handle `index` at `to`. */
export function reshaped(shape: MaskShape, index: number, to: ArrayPoint): MaskShape {
  switch (shape.kind) {
    case "circle":
    case "outside-circle":
      return { ...shape, r: tidy(Math.max(LEAST_RADIUS, Math.hypot(to.x - shape.x, to.y - shape.y))) };
    case "rectangle": {
      const opposite = handlesOf(shape)[(index + 2) % 4];
      return opposite ? rectangleBetween(opposite, to) : shape;
    }
    case "polygon":
      return {
        ...shape,
        points: shape.points.map((point, i) => (i === index ? ([tidy(to.x), tidy(to.y)] as const) : point)),
      };
  }
}

/** Whole pixels between two corners, at least one each way. */
export function rectangleBetween(a: ArrayPoint, b: ArrayPoint): Extract<MaskShape, { kind: "rectangle" }> {
  const x = Math.round(Math.min(a.x, b.x) + 0.5);
  const y = Math.round(Math.min(a.y, b.y) + 0.5);
  const width = Math.max(1, Math.round(Math.max(a.x, b.x) + 0.5) - x);
  const height = Math.max(1, Math.round(Math.max(a.y, b.y) + 0.5) - y);
  return { kind: "rectangle", x, y, width, height };
}

export function circleAround(centre: ArrayPoint, edge: ArrayPoint): Extract<MaskShape, { kind: "circle" }> {
  const r = Math.max(LEAST_RADIUS, Math.hypot(edge.x - centre.x, edge.y - centre.y));
  return { kind: "circle", x: tidy(centre.x), y: tidy(centre.y), r: tidy(r) };
}

export function polygonOf(points: readonly ArrayPoint[]): Extract<MaskShape, { kind: "polygon" }> {
  return { kind: "polygon", points: points.map(({ x, y }) => [tidy(x), tidy(y)] as const) };
}

/** A shape of a fifth of the frame in the middle of what is seen: what a keyboard places before it is moved. */
export function shapeInMiddle(tool: "circle" | "rectangle" | "polygon", middle: ArrayPoint, reach: number): MaskShape {
  const r = Math.max(1, reach);
  if (tool === "circle") return circleAround(middle, { x: middle.x + r, y: middle.y });
  const corners = [
    { x: middle.x - r, y: middle.y - r },
    { x: middle.x + r, y: middle.y - r },
    { x: middle.x + r, y: middle.y + r },
    { x: middle.x - r, y: middle.y + r },
  ] as const;
  return tool === "rectangle" ? rectangleBetween(corners[0], corners[2]) : polygonOf(corners);
}

/** Name and size in words. */
export function describeShape(shape: MaskShape): string {
  switch (shape.kind) {
    case "circle":
      return `circle, radius ${shape.r} px at (${shape.x}, ${shape.y})`;
    case "outside-circle":
      return `all outside a circle, radius ${shape.r} px at (${shape.x}, ${shape.y})`;
    case "rectangle":
      return `rectangle, ${shape.width} x ${shape.height} px from (${shape.x}, ${shape.y})`;
    case "polygon":
      return `polygon, ${shape.points.length} corners`;
  }
}

/** A hand does not place shapes more finely than a hundredth of a pixel; the plan stays readable. */
function tidy(value: number): number {
  return Math.round(value * 100) / 100 + 0;
}
