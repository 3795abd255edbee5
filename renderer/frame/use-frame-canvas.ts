import { type RefObject, useEffect, useRef, useState } from "react";
import type { FrameDisplay, FrameImage, FrameLamp } from "../view-types.ts";
import type { Affine, Size } from "./display-transform.ts";
import { FrameCanvas } from "./frame-canvas.ts";
import type { Rgb, SurfaceColours } from "./surface.ts";

export interface FramePicture {
  readonly frame: FrameImage;
  readonly display: FrameDisplay;
  readonly lamp: FrameLamp | undefined;
  readonly transform: Affine;
  readonly size: Size;
}

/** Keeps a FrameCanvas inside `host` in step with what is to be shown. A fault of the canvas is thrown into React. */
export function useFrameCanvas(
  host: RefObject<HTMLElement | null>,
  picture: FramePicture,
): RefObject<FrameCanvas | undefined> {
  const { frame, display, lamp, transform, size } = picture;
  const [canvas, setCanvas] = useState<FrameCanvas>();
  const [failure, setFailure] = useState<unknown>();
  const handle = useRef<FrameCanvas>(undefined);
  handle.current = canvas;
  if (failure !== undefined) throw failure;

  useEffect(() => {
    const { current } = host;
    if (!current) return;
    let made: FrameCanvas | undefined;
    let gone = false;
    FrameCanvas.create(current).then((created) => {
      if (gone) created.destroy();
      else {
        made = created;
        created.setColours(imageColours(current));
        setCanvas(created);
      }
    }, setFailure);
    return () => {
      gone = true;
      made?.destroy();
      setCanvas(undefined);
    };
  }, [host]);

  useEffect(() => canvas?.setFrame(frame), [canvas, frame]);
  useEffect(() => canvas?.setDisplay(display), [canvas, display]);
  useEffect(() => canvas?.setLamp(lamp), [canvas, lamp]);
  useEffect(() => {
    canvas?.setView(transform, size, window.devicePixelRatio);
  }, [canvas, transform, size]);
  return handle;
}

/** The colours of the picture that the style sheet names: the same in every theme. */
function imageColours(element: Element): SurfaceColours {
  const style = getComputedStyle(element);
  const read = (name: string): Rgb => rgb(style.getPropertyValue(name).trim(), name);
  return {
    accent: read("--image-accent"),
    hatch: read("--image-hatch"),
    ground: read("--image-ground"),
    bad: read("--image-bad"),
  };
}

function rgb(colour: string, name: string): Rgb {
  const hex = /^#([0-9a-f]{6})$/i.exec(colour)?.[1];
  if (hex === undefined) throw new TypeError(`style/tokens.css gives ${name} as "${colour}"; "#rrggbb" is needed`);
  const value = Number.parseInt(hex, 16);
  return [(value >> 16) / 255, ((value >> 8) & 255) / 255, (value & 255) / 255];
}
