import type { MaskShape } from "../../core/plan/plan.ts";
import type { ArrayPoint } from "../view-types.ts";
import { handlesOf } from "./shape-edit.ts";
import { pathOf, type Stage } from "./stage.ts";

const CIRCLE_POINTS = 96;

export function circlePoints(centre: ArrayPoint, radius: number): ArrayPoint[] {
  const points: ArrayPoint[] = [];
  for (let i = 0; i < CIRCLE_POINTS; i++) {
    const angle = (2 * Math.PI * i) / CIRCLE_POINTS;
    points.push({ x: centre.x + radius * Math.cos(angle), y: centre.y + radius * Math.sin(angle) });
  }
  return points;
}

/** Outline of a mask shape on the screen, as an SVG path. */
export function shapePath(shape: MaskShape, stage: Stage): string {
  switch (shape.kind) {
    case "circle":
    case "outside-circle":
      return pathOf(circlePoints(shape, shape.r), stage, true);
    case "rectangle":
      return pathOf(handlesOf(shape), stage, true);
    case "polygon":
      return pathOf(
        shape.points.map(([x, y]) => ({ x, y })),
        stage,
        true,
      );
  }
}
