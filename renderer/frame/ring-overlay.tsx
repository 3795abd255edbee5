import type { ReactElement } from "react";
import { type BankOptics, opticsAt, pointOfDirection, qLine, twoThetaOfQ } from "./bank-optics.ts";
import { pixelAt } from "./display-transform.ts";
import { ringValues } from "./ring-values.ts";
import { pathOf, type Stage, toArray, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

/** Points of a ring: the chord of the longest one in a view leaves its arc by less than half a CSS px. */
const POINTS = 180;
/** Where labels may stand, degrees; the first that is in sight is taken, so that labels keep to one line. */
const LABEL_ANGLES = [62, 118, 242, 298, 28, 152, 208, 332, 90, 270, 0, 180] as const;
const MARGIN = 22;

/** Rings of round Q values, with the values beside them. */
export function RingOverlay(): ReactElement | null {
  const { stage } = useStage();
  const { optics } = stage;
  if (!optics) return null;
  const rings = ringValues(...reachOf(stage, optics)).map((q) => ({ q, label: labelPlace(stage, optics, q) }));
  // One unit is enough: beside the outermost value in sight.
  const outermost = rings.findLast(({ label }) => label !== undefined);
  return (
    <g className="frame-rings">
      {rings.map((ring) => {
        const { q, label } = ring;
        const d = pathOf(qLine(optics, q, POINTS), stage, true);
        return (
          <g key={q}>
            <path className="frame-halo frame-halo-thin" d={d} />
            <path className="frame-ring" d={d} />
            {label && (
              <text className="frame-label number" x={label.x} y={label.y}>
                {ring === outermost ? `Q ${q} 1/Å` : `${q}`}
              </text>
            )}
          </g>
        );
      })}
    </g>
  );
}

/** The largest Q of the frame's edge middles and how far from the beam centre that is on the screen. */
function reachOf(stage: Stage, optics: BankOptics): [number, number] {
  const { width, height } = stage.layout;
  const [left, right, bottom, top] = [-0.5, width - 0.5, -0.5, height - 0.5];
  const corners = [
    { x: left, y: bottom },
    { x: right, y: bottom },
    { x: left, y: top },
    { x: right, y: top },
  ];
  const centre = toScreen(stage, optics.geometry.beamCentre);
  let best: [number, number] = [0, 0];
  for (const corner of corners) {
    const { q } = opticsAt(optics, corner);
    const at = toScreen(stage, corner);
    if (q > best[0]) best = [q, Math.hypot(at.x - centre.x, at.y - centre.y)];
  }
  return best;
}

function labelPlace(
  stage: Stage,
  optics: BankOptics,
  q: number,
): { readonly x: number; readonly y: number } | undefined {
  const twoTheta = twoThetaOfQ(optics, q);
  for (const angle of LABEL_ANGLES) {
    const point = pointOfDirection(optics, twoTheta, (angle * Math.PI) / 180);
    if (!point || !pixelAt(stage.layout, point)) continue;
    const at = toScreen(stage, point);
    const inSight =
      at.x > MARGIN && at.y > MARGIN && at.x < stage.size.width - 3 * MARGIN && at.y < stage.size.height - MARGIN;
    // The label reaches to the right of its point: it must end within the frame too.
    if (inSight && pixelAt(stage.layout, toArray(stage, { x: at.x + 2 * MARGIN, y: at.y }))) return at;
  }
  return undefined;
}
