import type { ReactElement } from "react";
import type { StopOutline } from "../../core/plan/reduction.ts";
import type { ArrayPoint } from "../view-types.ts";
import { circlePoints } from "./shape-path.ts";
import { pathOf } from "./stage.ts";
import { useStage } from "./stage-context.ts";

/** Outline of the beam stop's fit. */
export function StopOverlay({ stop }: { readonly stop: StopOutline }): ReactElement {
  const { stage } = useStage();
  const d = pathOf(stopPoints(stop), stage, true);
  return (
    <g>
      <path className="frame-halo" d={d} />
      <path className="frame-line frame-dashed" d={d} />
    </g>
  );
}

/** The outline's corners, or points along it. */
export function stopPoints(stop: StopOutline): ArrayPoint[] {
  if (stop.shape === "circle") return circlePoints(stop, stop.radius);
  const cos = Math.cos(stop.turn);
  const sin = Math.sin(stop.turn);
  const corners = [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ] as const;
  return corners.map(([i, j]) => {
    const u = (i * stop.width) / 2;
    const v = (j * stop.height) / 2;
    return { x: stop.x + u * cos - v * sin, y: stop.y + u * sin + v * cos };
  });
}
