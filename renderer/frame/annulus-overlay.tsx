import type { ReactElement } from "react";
import { useDraft } from "../interaction/use-draft.ts";
import type { AnnulusShape, DragPhase } from "../view-types.ts";
import { type BankOptics, opticsAt, pointOfDirection, qLine, twoThetaOfQ } from "./bank-optics.ts";
import type { ScreenPoint } from "./display-transform.ts";
import { Handle, type KeyStep } from "./handle.tsx";
import { withInner, withOuter } from "./sector-edit.ts";
import { pathOf, type Stage, toArray, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

const POINTS = 180;
/** Directions in which a handle is looked for, rad: the first that is in sight. Two rings start apart, for their labels. */
const INNER_PHI = [-0.8, 0.8, Math.PI - 0.8, 1.5, -1.5] as const;
const OUTER_PHI = [Math.PI + 0.8, Math.PI - 0.8, 0.8, -1.5, 1.5] as const;
const LARGE_STEP = 10; // px

export interface AnnulusOverlayProps {
  readonly annulus: AnnulusShape;
  /** clip-path of the frame's edge. */
  readonly clip: string;
  readonly onChange: ((annulus: AnnulusShape, phase: DragPhase) => void) | undefined;
}

/** An annulus with a handle on each of its rings. */
export function AnnulusOverlay({ annulus, clip, onChange }: AnnulusOverlayProps): ReactElement | null {
  const { stage, now } = useStage();
  const [shown, change] = useDraft(annulus, onChange);
  const { optics } = stage;
  if (!optics) return null;
  const inner = pathOf(qLine(optics, shown.qMin, POINTS), stage, true);
  const outer = pathOf(qLine(optics, shown.qMax, POINTS), stage, true);
  const qAt = (point: ScreenPoint): number => {
    const current = now();
    return opticsAt(current.optics ?? optics, toArray(current, point)).q;
  };
  const rings = [
    { name: "inner", q: shown.qMin, directions: INNER_PHI, set: withInner },
    { name: "outer", q: shown.qMax, directions: OUTER_PHI, set: withOuter },
  ] as const;
  return (
    <g className="frame-annulus">
      <path className="frame-area" clipPath={clip} fillRule="evenodd" d={outer + inner} />
      {rings.map(({ name, q, directions, set }) => {
        const at = placeOnRing(stage, optics, q, directions);
        const d = name === "inner" ? inner : outer;
        return (
          <g key={name}>
            <g clipPath={clip}>
              <path className="frame-halo frame-halo-thin" d={d} />
              <path className="frame-edge" d={d} />
            </g>
            {onChange && at && (
              <>
                <Handle
                  at={at}
                  label={`Annulus ${shown.id}, ${name} edge`}
                  valueNow={q}
                  valueText={`Q ${q} per angstrom`}
                  onDrag={(point, phase) => change(set(shown, qAt(point)), phase)}
                  onStep={(step, phase) => change(set(shown, q + pixelStep(optics, q, step)), phase)}
                />
                <text className="frame-label number" x={at.x + 12} y={at.y}>
                  {q}
                </text>
              </>
            )}
          </g>
        );
      })}
    </g>
  );
}

/** What a step of a pixel (ten with Shift) away from the beam means in Q. */
function pixelStep(optics: BankOptics, q: number, { dx, dy, large }: KeyStep): number {
  const { beamCentre } = optics.geometry;
  const here = pointOfDirection(optics, twoThetaOfQ(optics, q), 0);
  if (!here) return 0;
  const length = Math.hypot(here.x - beamCentre.x, here.y - beamCentre.y);
  const part = length > 0 ? 1 + 1 / length : 1;
  const next = {
    x: beamCentre.x + (here.x - beamCentre.x) * part,
    y: beamCentre.y + (here.y - beamCentre.y) * part,
  };
  return (dx - dy) * (large ? LARGE_STEP : 1) * (opticsAt(optics, next).q - q);
}

function placeOnRing(
  stage: Stage,
  optics: BankOptics,
  q: number,
  directions: readonly number[],
): ScreenPoint | undefined {
  const twoTheta = twoThetaOfQ(optics, q);
  let fallback: ScreenPoint | undefined;
  for (const phi of directions) {
    const point = pointOfDirection(optics, twoTheta, phi);
    if (!point) continue;
    const at = toScreen(stage, point);
    fallback ??= at;
    if (at.x > 8 && at.y > 8 && at.x < stage.size.width - 8 && at.y < stage.size.height - 8) return at;
  }
  return fallback;
}
