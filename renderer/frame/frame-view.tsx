import "./frame.css";
import { type ReactElement, type Ref, useRef } from "react";
import { useSize } from "../interaction/use-size.ts";
import type { FrameImage, FrameViewHandle, FrameViewProps } from "../view-types.ts";
import type { Size } from "./display-transform.ts";
import { FrameStage } from "./frame-stage.tsx";

/** Adds to what a toolbar may ask what tests need. */
export interface FrameViewProbe extends FrameViewHandle {
  /** RGBA 0..255 of the picture (without overlays) at a point of the view, CSS px. Slow. */
  colourAt(x: number, y: number): readonly number[] | undefined;
  /** Where array coordinates stand in the view, CSS px. */
  screenOf(x: number, y: number): { readonly x: number; readonly y: number };
  /** How the picture is drawn; undefined until the first drawing. */
  surface(): "webgl" | "canvas" | undefined;
}

/** The detector frame: picture, overlays, and the hands on both. */
export function FrameView(props: FrameViewProps & { readonly ref?: Ref<FrameViewProbe> | undefined }): ReactElement {
  const host = useRef<HTMLDivElement>(null);
  const size = useSize(host);
  return (
    <div className="frame-view" ref={host}>
      {props.frame && size ? <FrameStage {...props} frame={props.frame} size={size} /> : !props.frame && <Empty />}
    </div>
  );
}

export type FrameStageProps = Omit<FrameViewProps, "frame"> & {
  readonly frame: FrameImage;
  readonly size: Size;
  readonly ref?: Ref<FrameViewProbe> | undefined;
};

function Empty(): ReactElement {
  return <p className="frame-empty">No frame yet. Open a file, or drop one here.</p>;
}
