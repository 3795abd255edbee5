import type { ReactElement } from "react";
import { useDraft } from "../interaction/use-draft.ts";
import type { DragPhase, SectorShape } from "../view-types.ts";
import { type BankOptics, directionOfPhi, opticsAt } from "./bank-optics.ts";
import type { ScreenPoint } from "./display-transform.ts";
import { Handle, type KeyStep } from "./handle.tsx";
import { normalDegrees, rotated, widened } from "./sector-edit.ts";
import { pathOf, type Stage, toArray, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

/** Where the handles stand from the beam centre, as a part of the view's smaller side. */
const CENTRE_REACH = 0.34;
const EDGE_REACH = 0.27;
/** Lines keep this far from the beam centre, CSS px, so that its cross stays in sight. */
const CENTRE_ROOM = 20;
const DEGREE = Math.PI / 180;
const STEP_DEG = 1;
const LARGE_STEP_DEG = 10;

export interface SectorOverlayProps {
  readonly sector: SectorShape;
  /** clip-path of the frame's edge. */
  readonly clip: string;
  readonly onChange: ((sector: SectorShape, phase: DragPhase) => void) | undefined;
}

/** A sector: its centre line turns it, its edges set the half width. */
export function SectorOverlay({ sector, clip, onChange }: SectorOverlayProps): ReactElement | null {
  const { stage, now } = useStage();
  const [shown, change] = useDraft(sector, onChange);
  const { optics } = stage;
  if (!optics) return null;
  const phiAt = (point: ScreenPoint): number => {
    const current = now();
    return opticsAt(current.optics ?? optics, toArray(current, point)).phi / DEGREE;
  };
  const turn = ({ dx, dy, large }: KeyStep): number => (dx - dy) * (large ? LARGE_STEP_DEG : STEP_DEG);
  const { centre_deg: centre, halfWidth_deg: half } = shown;
  const edges = [centre - half, centre + half] as const;
  const lines = shown.mirrored ? [...edges, ...edges.map((angle) => angle + 180)] : edges;
  const wedge =
    wedgePath(stage, optics, centre, half) + (shown.mirrored ? wedgePath(stage, optics, centre + 180, half) : "");
  const beam = toScreen(stage, optics.geometry.beamCentre);
  const grip = onRay(stage, optics, centre, CENTRE_REACH);
  return (
    <g className="frame-sector">
      <g clipPath={clip}>
        <path className="frame-area" d={wedge} />
        {lines.map((angle, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the lines have no identity but their place
          <RayLine key={i} angle={angle} optics={optics} stage={stage} />
        ))}
      </g>
      {onChange && (
        <>
          <path className="frame-edge frame-dotted" d={`M${beam.x} ${beam.y}L${grip.x} ${grip.y}`} />
          {edges.map((angle, i) => (
            <Handle
              // biome-ignore lint/suspicious/noArrayIndexKey: two edges, always in this order
              key={i}
              at={onRay(stage, optics, angle, EDGE_REACH)}
              label={`Sector ${shown.id}, ${i === 0 ? "clockwise" : "anticlockwise"} edge`}
              valueNow={half}
              valueText={`half width ${half.toFixed(1)} degrees`}
              onDrag={(point, phase) => change(widened(shown, phiAt(point)), phase)}
              onStep={(step, phase) => change(widened(shown, centre + half + turn(step)), phase)}
            />
          ))}
          <Handle
            at={grip}
            label={`Sector ${shown.id}, direction`}
            valueNow={centre}
            valueText={`phi ${centre.toFixed(1)} degrees`}
            onDrag={(point, phase) => change(rotated(shown, phiAt(point)), phase)}
            onStep={(step, phase) => change(rotated(shown, centre + turn(step)), phase)}
          >
            <rect className="frame-handle-dot" x={-5} y={-5} width={10} height={10} transform="rotate(45)" />
          </Handle>
          <SectorLabel
            at={grip}
            room={stage.size.width}
            text={`φ ${normalDegrees(centre).toFixed(1)}°, half width ${half.toFixed(1)}°`}
          />
        </>
      )}
    </g>
  );
}

/** Room for the words, CSS px. */
const LABEL_WIDTH = 190;

interface SectorLabelProps {
  readonly at: ScreenPoint;
  /** Width of the view, CSS px. */
  readonly room: number;
  readonly text: string;
}

/** The sector in numbers, while the hand or the keyboard is on it. */
function SectorLabel({ at, room, text }: SectorLabelProps): ReactElement {
  const left = at.x + LABEL_WIDTH > room;
  return (
    <text
      className="frame-label frame-sector-label"
      x={at.x + (left ? -14 : 14)}
      y={at.y}
      textAnchor={left ? "end" : "start"}
    >
      {text}
    </text>
  );
}

function RayLine({
  angle,
  optics,
  stage,
}: {
  readonly angle: number;
  readonly optics: BankOptics;
  readonly stage: Stage;
}): ReactElement {
  const centre = toScreen(stage, optics.geometry.beamCentre);
  const far = toScreen(stage, farPoint(stage, optics, angle));
  const part = CENTRE_ROOM / Math.hypot(far.x - centre.x, far.y - centre.y);
  const near = { x: centre.x + part * (far.x - centre.x), y: centre.y + part * (far.y - centre.y) };
  const d = `M${near.x} ${near.y}L${far.x} ${far.y}`;
  return (
    <>
      <path className="frame-halo frame-halo-thin" d={d} />
      <path className="frame-edge" d={d} />
    </>
  );
}

/** A point of the ray well outside the frame. */
function farPoint({ layout }: Stage, optics: BankOptics, angle: number): { readonly x: number; readonly y: number } {
  const { beamCentre } = optics.geometry;
  const direction = directionOfPhi(optics, angle * DEGREE);
  const far = 2 * (layout.width + layout.height) + Math.abs(beamCentre.x) + Math.abs(beamCentre.y);
  return { x: beamCentre.x + far * direction.x, y: beamCentre.y + far * direction.y };
}

function wedgePath(stage: Stage, optics: BankOptics, centre: number, half: number): string {
  const parts = Math.max(2, Math.ceil(half / 10));
  const points = [optics.geometry.beamCentre];
  for (let i = -parts; i <= parts; i++) points.push(farPoint(stage, optics, centre + (half * i) / parts));
  return pathOf(points, stage, true);
}

function onRay(stage: Stage, optics: BankOptics, angle: number, part: number): ScreenPoint {
  const centre = toScreen(stage, optics.geometry.beamCentre);
  const far = toScreen(stage, farPoint(stage, optics, angle));
  const length = Math.hypot(far.x - centre.x, far.y - centre.y);
  const reach = (part * Math.min(stage.size.width, stage.size.height)) / length;
  return { x: centre.x + reach * (far.x - centre.x), y: centre.y + reach * (far.y - centre.y) };
}
