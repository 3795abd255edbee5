import type { ReactElement } from "react";
import type { ArrayPoint } from "../view-types.ts";
import { toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

/** CSS px: a small pixel still gets a mark that is seen. */
const LEAST_SIDE = 9;

/** A square around the pixel that is pointed at in another frame. */
export function PointerOverlay({ at }: { readonly at: ArrayPoint }): ReactElement {
  const { stage } = useStage();
  const a = toScreen(stage, { x: at.x - 0.5, y: at.y - 0.5 });
  const b = toScreen(stage, { x: at.x + 0.5, y: at.y + 0.5 });
  const width = Math.max(LEAST_SIDE, Math.abs(a.x - b.x));
  const height = Math.max(LEAST_SIDE, Math.abs(a.y - b.y));
  const place = { x: (a.x + b.x - width) / 2, y: (a.y + b.y - height) / 2, width, height };
  return (
    <g data-part="pointer">
      <rect className="frame-halo" {...place} />
      <rect className="frame-pointer" {...place} />
    </g>
  );
}
