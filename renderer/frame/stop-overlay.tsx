import type { ReactElement } from "react";
import { type StopOutline, stopCorners } from "../../core/model/measured.ts";
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
  return stopCorners(stop);
}
