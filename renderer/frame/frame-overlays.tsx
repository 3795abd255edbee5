import type { ReactElement } from "react";
import { AxisOverlay } from "../anisotropy/axis-overlay.tsx";
import { StopFitOverlay } from "../beam-stop/stop-fit-overlay.tsx";
import type { ArrayPoint, DragPhase, DrawTool, FrameOverlays, FrameViewProps } from "../view-types.ts";
import { AnnulusOverlay } from "./annulus-overlay.tsx";
import { CentreOverlay } from "./centre-overlay.tsx";
import type { Drawing } from "./drawing.ts";
import { BrushOutline, DrawingOverlay } from "./drawing-overlay.tsx";
import { PointerOverlay } from "./pointer-overlay.tsx";
import { RingOverlay } from "./ring-overlay.tsx";
import { SectorOverlay } from "./sector-overlay.tsx";
import { ShapeOverlay } from "./shape-overlay.tsx";
import { toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";
import { StopOverlay } from "./stop-overlay.tsx";

type Callbacks = Pick<
  FrameViewProps,
  "onSectorChange" | "onAnnulusChange" | "onShapeChange" | "onShapeDelete" | "onShapeSelect"
>;

export interface FrameOverlaysLayerProps extends Callbacks {
  /** Unique in the page. */
  readonly clipId: string;
  readonly overlays: FrameOverlays;
  /** Takes the place of the overlays' own centre while it is dragged. */
  readonly centre: ArrayPoint | undefined;
  readonly tool: DrawTool;
  readonly drawing: Drawing | undefined;
  readonly brush: { readonly at: ArrayPoint; readonly radius: number } | undefined;
  readonly onCentreChange: ((centre: ArrayPoint, phase: DragPhase) => void) | undefined;
}

/** Everything drawn over the picture. What belongs to the bank is cut at the frame's edge; handles are not. */
export function FrameOverlaysLayer(props: FrameOverlaysLayerProps): ReactElement {
  const { clipId, overlays, centre, tool, drawing, brush } = props;
  const { stage } = useStage();
  const { width, height } = stage.layout;
  const a = toScreen(stage, { x: -0.5, y: -0.5 });
  const b = toScreen(stage, { x: width - 0.5, y: height - 0.5 });
  const selecting = tool === "select";
  return (
    <svg className="frame-overlays" width={stage.size.width} height={stage.size.height} role="presentation">
      <clipPath id={clipId}>
        <rect x={Math.min(a.x, b.x)} y={Math.min(a.y, b.y)} width={Math.abs(a.x - b.x)} height={Math.abs(a.y - b.y)} />
      </clipPath>
      <g clipPath={`url(#${clipId})`}>{overlays.rings && <RingOverlay />}</g>
      {overlays.stopFit ? (
        <StopFitOverlay fit={overlays.stopFit} />
      ) : (
        overlays.stop && <StopOverlay stop={overlays.stop} />
      )}
      {overlays.shapes.map((shape, i) => (
        <ShapeOverlay
          // biome-ignore lint/suspicious/noArrayIndexKey: shapes have no identity but their place in the plan
          key={i}
          shape={shape}
          selected={selecting && overlays.selectedShape === i}
          editable={selecting && props.onShapeChange !== undefined}
          onSelect={() => props.onShapeSelect?.(i)}
          onChange={props.onShapeChange && ((next, phase) => props.onShapeChange?.(i, next, phase))}
          onDelete={props.onShapeDelete && (() => props.onShapeDelete?.(i))}
        />
      ))}
      {overlays.annuli.map((annulus) => (
        <AnnulusOverlay
          key={annulus.id}
          annulus={annulus}
          clip={`url(#${clipId})`}
          onChange={selecting ? props.onAnnulusChange : undefined}
        />
      ))}
      {overlays.sectors.map((sector) => (
        <SectorOverlay
          key={sector.id}
          sector={sector}
          clip={`url(#${clipId})`}
          onChange={selecting ? props.onSectorChange : undefined}
        />
      ))}
      {overlays.axis && <AxisOverlay axis={overlays.axis} clip={`url(#${clipId})`} />}
      {centre && (
        <CentreOverlay
          centre={centre}
          sigma={overlays.beamCentreSigma}
          onChange={selecting ? props.onCentreChange : undefined}
        />
      )}
      {overlays.pointer && <PointerOverlay at={overlays.pointer} />}
      {brush && !drawing && <BrushOutline at={brush.at} radius={brush.radius} />}
      {drawing && <DrawingOverlay drawing={drawing} />}
    </svg>
  );
}
