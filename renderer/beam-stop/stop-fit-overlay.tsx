import type { ReactElement } from "react";
import { circlePoints } from "../frame/shape-path.ts";
import { pathOf, toScreen } from "../frame/stage.ts";
import { useStage } from "../frame/stage-context.ts";
import { stopPoints } from "../frame/stop-overlay.tsx";
import { grownOutline, type StopFit } from "./stop-fit.ts";

/** Sigmas of the edge on either side that the penumbra's band shows. */
const SHOWN_SIGMAS = 2;
/** CSS px. */
const ARROW = 7;

/** The fitted stop with its penumbra, the beam's foot, and an arrow over the smallest margin between the two. */
export function StopFitOverlay({ fit }: { readonly fit: StopFit }): ReactElement {
  const { stage } = useStage();
  const { outline, penumbra, beam, margin } = fit;
  const outlinePath = pathOf(stopPoints(outline), stage, true);
  const outer = grownOutline(outline, SHOWN_SIGMAS * penumbra);
  const inner = grownOutline(outline, -SHOWN_SIGMAS * penumbra);
  const band = [outer, inner].map((edge) => (edge === undefined ? "" : pathOf(stopPoints(edge), stage, true))).join("");
  const foot =
    beam?.radius === undefined ? undefined : pathOf(circlePoints(beam, Math.max(0, beam.radius)), stage, true);
  return (
    <g data-part="stop-fit">
      <path className="stop-penumbra" d={band} fillRule="evenodd" />
      <path className="frame-halo" d={outlinePath} />
      <path className="frame-line" data-part="stop-outline" d={outlinePath} />
      {foot !== undefined && (
        <>
          <path className="frame-halo" d={foot} />
          <path className="stop-foot" data-part="beam-foot" d={foot} />
        </>
      )}
      {margin !== undefined && <MarginArrow margin={margin} />}
    </g>
  );
}

function MarginArrow({ margin }: { readonly margin: NonNullable<StopFit["margin"]> }): ReactElement | null {
  const { stage } = useStage();
  const a = toScreen(stage, margin.from);
  const b = toScreen(stage, margin.to);
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  if (!(length > 1)) return null;
  const ux = (b.x - a.x) / length;
  const uy = (b.y - a.y) / length;
  const head = Math.min(ARROW, length);
  const wing = (side: number) =>
    `${(b.x - head * ux - (side * head * uy) / 2).toFixed(1)} ${(b.y - head * uy + (side * head * ux) / 2).toFixed(1)}`;
  const d = `M${a.x.toFixed(1)} ${a.y.toFixed(1)}L${b.x.toFixed(1)} ${b.y.toFixed(1)}M${wing(1)}L${b.x.toFixed(1)} ${b.y.toFixed(1)}L${wing(-1)}`;
  return (
    <>
      <path className="frame-halo" d={d} />
      <path className={margin.isNegative ? "stop-margin negative" : "stop-margin"} data-part="margin-arrow" d={d} />
    </>
  );
}
