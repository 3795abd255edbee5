import "./anisotropy.css";
import type { ReactElement } from "react";
import { withSigma } from "../../core/model/numbers.ts";
import { directionOfPhi, pointOfDirection, twoThetaOfQ } from "../frame/bank-optics.ts";
import { type Stage, toScreen } from "../frame/stage.ts";
import { useStage } from "../frame/stage-context.ts";
import type { ArrayPoint } from "../view-types.ts";
import type { AxisMark } from "./axis-mark.ts";

const DEGREE = Math.PI / 180;
/** rad; a wedge wider than this says that there is no axis. */
const WIDEST = Math.PI / 4;
/** Of the annulus's outer Q. */
const LABEL_AT = 1.7;

/** The axis through the beam centre, with a wedge of one standard deviation on both sides. */
export function AxisOverlay({ axis, clip }: { readonly axis: AxisMark; readonly clip: string }): ReactElement | null {
  const { stage } = useStage();
  const { optics } = stage;
  if (!optics || !(axis.sigma < WIDEST)) return null;
  const centre = optics.geometry.beamCentre;
  const reach = stage.layout.width + stage.layout.height;
  const end = (phi: number): ArrayPoint => {
    const { x, y } = directionOfPhi(optics, phi);
    return { x: centre.x + reach * x, y: centre.y + reach * y };
  };
  const path = (points: readonly ArrayPoint[]) =>
    points.map((point, i) => `${i === 0 ? "M" : "L"}${screen(stage, point)}`).join("");
  const { phi, sigma } = axis;
  const line = path([end(phi), end(phi + Math.PI)]);
  const wedges = [phi, phi + Math.PI].map((side) => `${path([centre, end(side - sigma), end(side + sigma)])}Z`);
  // On the lower half: the rings have their labels on the upper one.
  const label = pointOfDirection(optics, twoThetaOfQ(optics, LABEL_AT * axis.qMax), phi + Math.PI);
  const at = label && toScreen(stage, label);
  return (
    <g className="axis-overlay">
      <g clipPath={clip}>
        <path className="axis-wedge" d={wedges.join("")} />
        <path className="frame-halo frame-halo-thin" d={line} />
        <path className="frame-line" d={line} />
      </g>
      {at && (
        <text className="frame-label number" x={at.x + 10} y={at.y}>
          {`axis ${withSigma(phi / DEGREE, sigma / DEGREE)}°`}
        </text>
      )}
    </g>
  );
}

function screen(stage: Stage, point: ArrayPoint): string {
  const { x, y } = toScreen(stage, point);
  return `${x.toFixed(2)} ${y.toFixed(2)}`;
}
