import {
  type PointerEvent,
  type ReactElement,
  useEffect,
  useId,
  useImperativeHandle,
  useMemo,
  useRef,
  useState,
} from "react";
import { within } from "../interaction/pointer-drag.ts";
import { useDraft } from "../interaction/use-draft.ts";
import type { ArrayPoint, DragPhase } from "../view-types.ts";
import { pixelAt } from "./display-transform.ts";
import { FrameOverlaysLayer } from "./frame-overlays.tsx";
import type { FrameStageProps } from "./frame-view.tsx";
import { arrayStep, layoutOf, stageOf, toArray, toScreen } from "./stage.ts";
import { StageContext } from "./stage-context.ts";
import { useDrawing } from "./use-drawing.ts";
import { useFrameCanvas } from "./use-frame-canvas.ts";
import { useFrameKeys } from "./use-frame-keys.ts";
import { useHover } from "./use-hover.ts";
import { usePanning } from "./use-panning.ts";
import { useViewport } from "./use-viewport.ts";

/** A frame in a view of known size. */
export function FrameStage(props: FrameStageProps): ReactElement {
  const { frame, geometry, display, overlays, tool, size, brushRadius = 3, onCentreDrag, ref } = props;
  const root = useRef<HTMLDivElement>(null);
  // Another beam centre is another geometry, but the picture stands where it stood.
  const pixelAspect = geometry ? geometry.pixelSizeY / geometry.pixelSizeX : 1;
  const layout = useMemo(
    () => layoutOf(frame, pixelAspect, display.seenFromSample),
    [frame, pixelAspect, display.seenFromSample],
  );
  const viewport = useViewport(frame.id, layout, size, props.link);
  const [centre, changeCentre] = useDraft(
    overlays.beamCentre,
    onCentreDrag &&
      ((value: ArrayPoint | undefined, phase: DragPhase) => value && onCentreDrag(value.x, value.y, phase)),
  );
  const stage = useMemo(
    () => stageOf(layout, viewport.view, size, geometry, centre),
    [layout, viewport.view, size, geometry, centre],
  );
  const newest = useRef(stage);
  newest.current = stage;
  const access = useMemo(
    () => ({
      stage,
      now: () => newest.current,
      root: () => root.current as Element,
    }),
    [stage],
  );

  const canvas = useFrameCanvas(root, { frame, display, lamp: overlays.lamp, transform: stage.toScreen, size });
  const hover = useHover(props.onHover, frame);
  const [pointer, setPointer] = useState<ArrayPoint>();
  const drawing = useDrawing({ tool, frame, brushRadius, stage: access, onShapeAdd: props.onShapeAdd });
  const panning = usePanning(viewport);
  const keys = useFrameKeys({
    viewport,
    size,
    hover,
    drawing,
    panning,
    onFlip: props.onFlip,
    stepOnArray: (dx, dy) => arrayStep(stage, dx, dy),
  });
  useWheelZoom(root, viewport.zoom);
  useImperativeHandle(ref, () => ({
    fit: viewport.fit,
    actualSize: viewport.actualSize,
    zoomBy: (factor) => viewport.zoom({ x: size.width / 2, y: size.height / 2 }, factor),
    colourAt: (x, y) => canvas.current?.colourAt(x, y),
    screenOf: (x, y) => toScreen(newest.current, { x, y }),
    surface: () => canvas.current?.kind,
  }));

  const pressed = (event: PointerEvent<HTMLDivElement>): void => {
    if (panning.takes(event, tool)) {
      panning.start(event);
      if (event.button === 0 && !panning.spaceHeld()) props.onShapeSelect?.(undefined);
    } else if (event.button === 0) drawing.press(event);
  };
  const moved = (event: PointerEvent<HTMLDivElement>): void => {
    if (!root.current) return;
    const at = toArray(newest.current, within(root.current, event));
    // Under a hand that drags something the lamp would only draw the picture anew at every step.
    hover.to(tool === "select" && event.buttons !== 0 ? undefined : pixelAt(frame, at));
    drawing.hover(at);
    if (tool === "brush") setPointer(at);
  };
  const left = (): void => {
    hover.to(undefined);
    setPointer(undefined);
  };
  const clip = useId();
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset would bring a form's look and meaning
    <div
      ref={root}
      className={`frame-stage frame-tool-${tool}`}
      role="group"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: the frame is panned, zoomed and drawn on with keys
      tabIndex={0}
      aria-label={`${props.name ?? "Detector frame"}, ${frame.width} by ${frame.height} pixels`}
      onPointerDown={pressed}
      onPointerMove={moved}
      onPointerLeave={left}
      onDoubleClick={() => (tool === "select" ? viewport.fit() : drawing.finish())}
      onKeyDown={keys.down}
      onKeyUp={keys.up}
      onBlur={keys.blur}
    >
      <StageContext value={access}>
        <FrameOverlaysLayer
          clipId={clip}
          overlays={overlays}
          centre={centre}
          tool={tool}
          drawing={drawing.current}
          brush={tool === "brush" && pointer ? { at: pointer, radius: brushRadius } : undefined}
          onCentreChange={onCentreDrag && changeCentre}
          onSectorChange={props.onSectorChange}
          onAnnulusChange={props.onAnnulusChange}
          onShapeChange={props.onShapeChange}
          onShapeDelete={props.onShapeDelete}
          onShapeSelect={props.onShapeSelect}
        />
      </StageContext>
    </div>
  );
}

/** React listens to the wheel passively; zooming must keep the page from scrolling. */
function useWheelZoom(
  root: { readonly current: HTMLElement | null },
  zoom: (at: { readonly x: number; readonly y: number }, factor: number) => void,
): void {
  useEffect(() => {
    const { current } = root;
    if (!current) return;
    const turned = (event: WheelEvent): void => {
      event.preventDefault();
      const pixels = event.deltaMode === WheelEvent.DOM_DELTA_PIXEL ? event.deltaY : event.deltaY * PIXELS_A_LINE;
      zoom(within(current, event), Math.exp(-pixels * ZOOM_PER_PIXEL));
    };
    current.addEventListener("wheel", turned, { passive: false });
    return () => current.removeEventListener("wheel", turned);
  }, [root, zoom]);
}

const PIXELS_A_LINE = 16;
/** A notch of 100 px zooms by about a fifth. */
const ZOOM_PER_PIXEL = 0.0018;
