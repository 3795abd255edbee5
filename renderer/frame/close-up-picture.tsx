import { type ReactElement, type ReactNode, useEffect, useMemo, useRef } from "react";
import type { FrameImage, PaletteName } from "../view-types.ts";
import { invert, screenTransform } from "./display-transform.ts";
import { PALETTE_SIZE, paletteBytes } from "./palette.ts";
import { layoutOf, type Stage } from "./stage.ts";
import { StageContext } from "./stage-context.ts";

const BYTES = 4;

export type CloseUpImage = Pick<FrameImage, "width" | "height" | "counts" | "orientation">;

/** What is seen: a square about an array point, `half` columns to either side. */
export interface CloseUpView {
  readonly x: number;
  readonly y: number;
  readonly half: number;
}

/** A small part of a frame as a picture that does not move, with overlays of the frame on it. Log scale. */
export function CloseUpPicture({
  image,
  view: { x, y, half },
  side,
  palette,
  pixelAspect,
  seenFromSample,
  children,
}: {
  readonly image: CloseUpImage;
  readonly view: CloseUpView;
  /** CSS px. */
  readonly side: number;
  readonly palette: PaletteName;
  /** Pixel pitch along y over pitch along x. */
  readonly pixelAspect: number;
  readonly seenFromSample: boolean;
  readonly children: ReactNode;
}): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  const stage = useMemo((): Stage => {
    const layout = layoutOf(image, pixelAspect, seenFromSample);
    const view = { x, y, scale: side / (2 * half) };
    const size = { width: side, height: side };
    const toScreen = screenTransform(layout, view, size);
    return { layout, view, size, toScreen, toArray: invert(toScreen), optics: undefined };
  }, [image, x, y, half, side, pixelAspect, seenFromSample]);
  const newest = useRef(stage);
  newest.current = stage;
  const access = useMemo(
    () => ({
      stage,
      now: () => newest.current,
      root: (): Element => {
        if (canvas.current === null) throw new TypeError("the close-up is not mounted");
        return canvas.current;
      },
    }),
    [stage],
  );
  useEffect(() => {
    const context = canvas.current?.getContext("2d");
    if (!context || !canvas.current) return;
    const ratio = window.devicePixelRatio;
    canvas.current.width = side * ratio;
    canvas.current.height = side * ratio;
    const patch = patchOf(image, { x, y, half }, palette);
    if (patch === undefined) return;
    const { a, b, c, d, e, f } = stage.toScreen;
    context.imageSmoothingEnabled = false;
    context.setTransform(a * ratio, b * ratio, c * ratio, d * ratio, e * ratio, f * ratio);
    context.drawImage(patch.picture, patch.x - 0.5, patch.y - 0.5);
  }, [image, stage, x, y, half, side, palette]);
  return (
    <>
      <canvas ref={canvas} width={side} height={side} style={{ width: side, height: side }} />
      <StageContext.Provider value={access}>
        <svg width={side} height={side} role="presentation">
          {children}
        </svg>
      </StageContext.Provider>
    </>
  );
}

/** The pixels around a place as a picture of its own, in array order; log scale from 0 to its highest count. */
function patchOf(
  { width, height, counts }: CloseUpImage,
  { x, y, half }: CloseUpView,
  palette: PaletteName,
): { readonly picture: OffscreenCanvas; readonly x: number; readonly y: number } | undefined {
  const left = Math.max(0, Math.floor(x - half));
  const low = Math.max(0, Math.floor(y - half));
  const columns = Math.min(width, Math.ceil(x + half) + 1) - left;
  const rows = Math.min(height, Math.ceil(y + half) + 1) - low;
  if (!(columns > 0 && rows > 0)) return undefined;
  let highest = 1;
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) highest = Math.max(highest, counts[(low + j) * width + left + i] ?? 0);
  const colours = paletteBytes(palette);
  const picture = new OffscreenCanvas(columns, rows);
  const pixels = new ImageData(columns, rows);
  const top = Math.log1p(highest);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const count = Math.max(0, counts[(low + j) * width + left + i] ?? 0);
      const place = Math.round((Math.log1p(count) / top) * (PALETTE_SIZE - 1));
      const at = (j * columns + i) * BYTES;
      for (let k = 0; k < BYTES; k++) pixels.data[at + k] = colours[place * BYTES + k] ?? 0;
    }
  }
  picture.getContext("2d")?.putImageData(pixels, 0, 0);
  return { picture, x: left, y: low };
}
