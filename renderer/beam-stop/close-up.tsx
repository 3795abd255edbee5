import { type ReactElement, useEffect, useMemo, useRef } from "react";
import { invert, type Layout, screenTransform } from "../frame/display-transform.ts";
import { PALETTE_SIZE, paletteBytes } from "../frame/palette.ts";
import type { Stage } from "../frame/stage.ts";
import { StageContext } from "../frame/stage-context.ts";
import type { FrameImage, PaletteName } from "../view-types.ts";
import type { StopFit } from "./stop-fit.ts";
import { StopFitOverlay } from "./stop-fit-overlay.tsx";

/** CSS px of its side. */
const SIDE = 136;
/** Half of what is seen, in sizes of the stop, and what it has at least, px. */
const SIZES = 2.2;
const LEAST_HALF = 8;
const BYTES = 4;

/** The stop and what surrounds it, large enough for penumbra, beam and margin to be told apart. */
export function CloseUp({
  image,
  fit,
  palette,
  pixelAspect,
  seenFromSample,
}: {
  readonly image: FrameImage;
  readonly fit: StopFit;
  readonly palette: PaletteName;
  /** Pixel pitch along y over pitch along x. */
  readonly pixelAspect: number;
  readonly seenFromSample: boolean;
}): ReactElement {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { outline } = fit;
  const reach = outline.shape === "circle" ? outline.radius : Math.hypot(outline.width, outline.height) / 2;
  const half = Math.max(LEAST_HALF, SIZES * reach);
  const stage = useMemo((): Stage => {
    const { width, height, orientation } = image;
    const layout: Layout = { width, height, ...orientation, pixelAspect, seenFromSample };
    const view = { x: outline.x, y: outline.y, scale: SIDE / (2 * half) };
    const size = { width: SIDE, height: SIDE };
    const toScreen = screenTransform(layout, view, size);
    return { layout, view, size, toScreen, toArray: invert(toScreen), optics: undefined };
  }, [image, outline.x, outline.y, half, pixelAspect, seenFromSample]);
  const access = useMemo(
    () => ({
      stage,
      now: () => stage,
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
    canvas.current.width = SIDE * ratio;
    canvas.current.height = SIDE * ratio;
    const patch = patchOf(image, { x: outline.x, y: outline.y, half }, palette);
    if (patch === undefined) return;
    const { a, b, c, d, e, f } = stage.toScreen;
    context.imageSmoothingEnabled = false;
    context.setTransform(a * ratio, b * ratio, c * ratio, d * ratio, e * ratio, f * ratio);
    context.drawImage(patch.picture, patch.x - 0.5, patch.y - 0.5);
  }, [image, stage, outline.x, outline.y, half, palette]);
  return (
    <figure className="stop-close-up" aria-label="The stop from close by">
      <canvas ref={canvas} width={SIDE} height={SIDE} style={{ width: SIDE, height: SIDE }} />
      <StageContext.Provider value={access}>
        <svg width={SIDE} height={SIDE} role="presentation">
          <StopFitOverlay fit={fit} />
        </svg>
      </StageContext.Provider>
    </figure>
  );
}

/** The pixels around a place as a picture of its own, in array order; log scale from 0 to its highest count. */
function patchOf(
  { width, height, counts }: FrameImage,
  { x, y, half }: { readonly x: number; readonly y: number; readonly half: number },
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
