import type { ReactElement } from "react";
import { CloseUpPicture } from "../frame/close-up-picture.tsx";
import type { FrameImage, PaletteName } from "../view-types.ts";
import type { StopFit } from "./stop-fit.ts";
import { StopFitOverlay } from "./stop-fit-overlay.tsx";

/** CSS px of its side. */
const SIDE = 136;
/** Half of what is seen, in sizes of the stop, and what it has at least, px. */
const SIZES = 2.2;
const LEAST_HALF = 8;

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
  const { outline } = fit;
  const reach = outline.shape === "circle" ? outline.radius : Math.hypot(outline.width, outline.height) / 2;
  const half = Math.max(LEAST_HALF, SIZES * reach);
  return (
    <figure className="stop-close-up" aria-label="The stop from close by">
      <CloseUpPicture
        image={image}
        view={{ x: outline.x, y: outline.y, half }}
        side={SIDE}
        palette={palette}
        pixelAspect={pixelAspect}
        seenFromSample={seenFromSample}
      >
        <StopFitOverlay fit={fit} />
      </CloseUpPicture>
    </figure>
  );
}
