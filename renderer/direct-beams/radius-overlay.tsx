import type { ReactElement } from "react";
import type { ScreenPoint } from "../frame/display-transform.ts";
import { Handle, type KeyStep } from "../frame/handle.tsx";
import { circlePoints } from "../frame/shape-path.ts";
import { pathOf, toArray, toScreen } from "../frame/stage.ts";
import { useStage } from "../frame/stage-context.ts";
import type { ArrayPoint, DragPhase } from "../view-types.ts";

const FINE_STEP = 0.1; // px
const LARGE_STEP = 1; // px
const LEAST_RADIUS = 0.5; // px

/** The circle that counts are summed in, and where the spot of this run is. The circle's edge can be dragged. */
export function RadiusOverlay({
  circle,
  radius,
  spot,
  label,
  onChange,
}: {
  /** Middle of the sum; undefined: nothing was summed. */
  readonly circle: ArrayPoint | undefined;
  readonly radius: number;
  readonly spot: ArrayPoint | undefined;
  readonly label: string;
  readonly onChange: (radius: number, phase: DragPhase) => void;
}): ReactElement {
  return (
    <>
      {spot && <SpotMark at={spot} />}
      {circle && <Circle circle={circle} radius={radius} label={label} onChange={onChange} />}
    </>
  );
}

function SpotMark({ at }: { readonly at: ArrayPoint }): ReactElement {
  const { stage } = useStage();
  const { x, y } = toScreen(stage, at);
  const cross = "M-7 0H-2M2 0H7M0 -7V-2M0 2V7";
  return (
    <g transform={`translate(${x} ${y})`}>
      <path className="frame-halo" d={cross} />
      <path className="frame-line" d={cross} />
    </g>
  );
}

function Circle({
  circle,
  radius,
  label,
  onChange,
}: {
  readonly circle: ArrayPoint;
  readonly radius: number;
  readonly label: string;
  readonly onChange: (radius: number, phase: DragPhase) => void;
}): ReactElement {
  const { stage, now } = useStage();
  const d = pathOf(circlePoints(circle, radius), stage, true);
  const at = toScreen(stage, { x: circle.x + radius, y: circle.y });
  const drag = (point: ScreenPoint, phase: DragPhase): void => {
    const to = toArray(now(), point);
    onChange(tenths(Math.hypot(to.x - circle.x, to.y - circle.y)), phase);
  };
  const step = ({ dx, dy, large }: KeyStep, phase: DragPhase): void => {
    const by = (dx - dy) * (large ? LARGE_STEP : FINE_STEP);
    onChange(tenths(radius + by), phase);
  };
  return (
    <>
      <path className="frame-halo" d={d} />
      <path className="frame-centre beam-circle" d={d} />
      <Handle
        at={at}
        label={label}
        valueNow={radius}
        valueText={`${radius} px`}
        cursor="ew-resize"
        onDrag={drag}
        onStep={step}
      />
    </>
  );
}

/** As fine as a hand can place it; the plan stays readable. */
function tenths(value: number): number {
  return Math.max(LEAST_RADIUS, Math.round(value * 10) / 10);
}
