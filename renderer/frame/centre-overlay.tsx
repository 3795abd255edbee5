import type { ReactElement } from "react";
import type { ArrayPoint, DragPhase } from "../view-types.ts";
import type { ScreenPoint } from "./display-transform.ts";
import { Handle, type KeyStep } from "./handle.tsx";
import { arrayStep, toArray, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

const FINE_STEP = 0.1; // px
const LARGE_STEP = 1; // px

export interface CentreOverlayProps {
  readonly centre: ArrayPoint;
  readonly sigma?: ArrayPoint | undefined;
  readonly onChange: ((centre: ArrayPoint, phase: DragPhase) => void) | undefined;
}

/** The beam centre as a cross with an open middle, so that the pixel under it stays in sight. */
export function CentreOverlay({ centre, sigma, onChange }: CentreOverlayProps): ReactElement {
  const { stage, now } = useStage();
  const at = toScreen(stage, centre);
  const drag = (point: ScreenPoint, phase: DragPhase): void => {
    const { x, y } = toArray(now(), point);
    onChange?.({ x: hundredths(x), y: hundredths(y) }, phase);
  };
  const step = ({ dx, dy, large }: KeyStep, phase: DragPhase): void => {
    const length = large ? LARGE_STEP : FINE_STEP;
    const by = arrayStep(stage, dx, dy);
    onChange?.({ x: hundredths(centre.x + by.x * length), y: hundredths(centre.y + by.y * length) }, phase);
  };
  const cross = "M-15 0H-4M4 0H15M0 -15V-4M0 4V15";
  return (
    <>
      {sigma && <SigmaEllipse centre={centre} sigma={sigma} />}
      {onChange ? (
        <Handle
          at={at}
          label="Beam centre"
          valueNow={centre.x}
          valueText={`x ${centre.x.toFixed(2)}, y ${centre.y.toFixed(2)} px`}
          cursor="move"
          reach={16}
          onDrag={drag}
          onStep={step}
        >
          <path className="frame-halo" d={cross} />
          <path className="frame-centre" d={cross} />
        </Handle>
      ) : (
        <g transform={`translate(${at.x} ${at.y})`}>
          <path className="frame-halo" d={cross} />
          <path className="frame-line" d={cross} />
        </g>
      )}
    </>
  );
}

/** One standard uncertainty, where it is large enough to be seen. */
function SigmaEllipse({
  centre,
  sigma,
}: {
  readonly centre: ArrayPoint;
  readonly sigma: ArrayPoint;
}): ReactElement | null {
  const { stage } = useStage();
  const { a, b, c, d } = stage.toScreen;
  const rx = Math.hypot(a * sigma.x, c * sigma.y);
  const ry = Math.hypot(b * sigma.x, d * sigma.y);
  if (!(rx > 3 && ry > 3)) return null;
  const { x, y } = toScreen(stage, centre);
  return <ellipse className="frame-line frame-dashed" cx={x} cy={y} rx={rx} ry={ry} />;
}

/** As fine as a hand can place it; the plan stays readable. */
function hundredths(value: number): number {
  return Math.round(value * 100) / 100 + 0;
}
