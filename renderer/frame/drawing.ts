import type { MaskShape } from "../../core/plan/plan.ts";
import type { ArrayPoint, DrawTool } from "../view-types.ts";
import { BrushStroke } from "./brush-stroke.ts";
import type { Size } from "./display-transform.ts";
import { circleAround, polygonOf, rectangleBetween } from "./shape-edit.ts";

/** A shape on its way: pressed, dragged and released for all but the polygon, whose corners are clicked one by one. */
export type Drawing =
  | { readonly tool: "circle" | "rectangle"; readonly from: ArrayPoint; readonly to: ArrayPoint }
  | { readonly tool: "brush"; readonly stroke: BrushStroke; readonly version: number }
  | { readonly tool: "polygon"; readonly corners: readonly ArrayPoint[]; readonly to: ArrayPoint };

export function begun(tool: Exclude<DrawTool, "select">, at: ArrayPoint, size: Size, brushRadius: number): Drawing {
  if (tool === "polygon") return { tool, corners: [at], to: at };
  if (tool !== "brush") return { tool, from: at, to: at };
  const stroke = new BrushStroke(size, brushRadius);
  stroke.to(at);
  return { tool, stroke, version: 0 };
}

export function continued(drawing: Drawing, at: ArrayPoint): Drawing {
  if (drawing.tool !== "brush") return { ...drawing, to: at };
  drawing.stroke.to(at);
  return { ...drawing, version: drawing.version + 1 };
}

/** @returns the shape so far; undefined where there is nothing to mask yet */
export function shapeOf(drawing: Drawing): MaskShape | undefined {
  switch (drawing.tool) {
    case "circle":
      return samePoint(drawing.from, drawing.to) ? undefined : circleAround(drawing.from, drawing.to);
    case "rectangle":
      return samePoint(drawing.from, drawing.to) ? undefined : rectangleBetween(drawing.from, drawing.to);
    case "brush":
      return drawing.stroke.shape();
    case "polygon":
      return drawing.corners.length < 3 ? undefined : polygonOf(drawing.corners);
  }
}

/** A polygon with one more corner; a corner on top of the last one (a double click) is not taken twice. */
export function withCorner(drawing: Extract<Drawing, { tool: "polygon" }>, at: ArrayPoint, least: number): Drawing {
  const last = drawing.corners[drawing.corners.length - 1];
  if (last && Math.hypot(last.x - at.x, last.y - at.y) < least) return { ...drawing, to: at };
  return { ...drawing, corners: [...drawing.corners, at], to: at };
}

/** @returns undefined when no corner is left */
export function withoutLastCorner(drawing: Extract<Drawing, { tool: "polygon" }>): Drawing | undefined {
  return drawing.corners.length > 1 ? { ...drawing, corners: drawing.corners.slice(0, -1) } : undefined;
}

function samePoint(a: ArrayPoint, b: ArrayPoint): boolean {
  return Math.hypot(a.x - b.x, a.y - b.y) < 0.25;
}
