import type { ReactElement } from "react";
import type { ArrayPoint } from "../view-types.ts";
import { type Drawing, shapeOf } from "./drawing.ts";
import { circlePoints, shapePath } from "./shape-path.ts";
import { pathOf, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

/** The shape that is being drawn. */
export function DrawingOverlay({ drawing }: { readonly drawing: Drawing }): ReactElement | null {
  const { stage } = useStage();
  if (drawing.tool === "polygon") {
    const [first] = drawing.corners;
    const d = pathOf([...drawing.corners, drawing.to], stage, false);
    return (
      <g className="frame-drawing">
        <path className="frame-halo" d={d} />
        <path className="frame-shape-line" d={d} />
        {first && (
          <circle className="frame-handle-dot" cx={toScreen(stage, first).x} cy={toScreen(stage, first).y} r={4.5} />
        )}
      </g>
    );
  }
  const shape = shapeOf(drawing);
  if (!shape) return null;
  const d = shapePath(shape, stage);
  return (
    <g className="frame-drawing">
      <path className="frame-halo" d={d} />
      <path className="frame-shape-line" d={d} />
    </g>
  );
}

/** The brush under the pointer, in its true size. */
export function BrushOutline({ at, radius }: { readonly at: ArrayPoint; readonly radius: number }): ReactElement {
  const { stage } = useStage();
  const d = pathOf(circlePoints(at, radius), stage, true);
  return (
    <g>
      <path className="frame-halo" d={d} />
      <path className="frame-shape-line" d={d} />
    </g>
  );
}
