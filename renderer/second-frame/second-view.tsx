import { useMemo } from "react";
import type { Geometry } from "../../core/model/geometry.ts";
import { useDocument } from "../app/application.ts";
import type { ReadFrame } from "../flip/frame-store.ts";
import { FrameView } from "../frame/frame-view.tsx";
import { automaticRange } from "../frame/histogram.ts";
import type { ViewLink } from "../frame/view-link.ts";
import type { ArrayPoint, FrameDisplay, FrameImage } from "../view-types.ts";

const NOTHING_DRAWN = { rings: false, sectors: [], annuli: [], shapes: [] };

/** The second frame as a picture: under the id of the first, whose part it shows, and its mask where that fits. */
export function imageBeside(frame: ReadFrame, { id, mask }: FrameImage): FrameImage {
  const fits = mask.length === frame.counts.length;
  return { ...frame, id, mask: fits ? mask : new Uint16Array(frame.counts.length), quantity: "counts" };
}

/** The picture beside the first: the same part, colours and range, and a mark where the pointer is in the other. */
export function SecondView({
  image,
  display,
  geometry,
  pixel,
  link,
  onHover,
}: {
  readonly image: FrameImage | undefined;
  readonly display: FrameDisplay;
  /** Of the first frame, for the shape of the pixels alone: what this run was measured at is not known here. */
  readonly geometry: Geometry | undefined;
  readonly pixel: ArrayPoint | undefined;
  readonly link: ViewLink;
  readonly onHover: (pixel: ArrayPoint | undefined) => void;
}) {
  const hasOwnRange = useDocument(({ view }) => view.secondOwnRange);
  const range = useMemo(
    () =>
      hasOwnRange && image !== undefined ? automaticRange(image.counts, image.mask, display.scale) : display.range,
    [hasOwnRange, image, display.scale, display.range],
  );
  const overlays = useMemo(() => ({ ...NOTHING_DRAWN, pointer: pixel }), [pixel]);
  return (
    <FrameView
      name="Second frame"
      frame={image}
      geometry={geometry}
      display={{ ...display, range }}
      overlays={overlays}
      tool="select"
      link={link}
      onHover={onHover}
    />
  );
}
