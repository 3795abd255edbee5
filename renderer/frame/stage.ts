import type { Geometry } from "../../core/model/geometry.ts";
import type { ArrayPoint, FrameImage } from "../view-types.ts";
import { type BankOptics, bankOptics } from "./bank-optics.ts";
import {
  type Affine,
  apply,
  invert,
  type Layout,
  type ScreenPoint,
  type Size,
  screenTransform,
  type Viewport,
} from "./display-transform.ts";

/** What overlays need to place themselves: one for each state of the view, shared by all of them. */
export interface Stage {
  readonly layout: Layout;
  readonly view: Viewport;
  readonly size: Size;
  readonly toScreen: Affine;
  readonly toArray: Affine;
  readonly optics: BankOptics | undefined;
}

export function layoutOf(
  frame: Pick<FrameImage, "width" | "height" | "orientation">,
  pixelAspect: number,
  seenFromSample: boolean,
): Layout {
  return {
    width: frame.width,
    height: frame.height,
    rowOrder: frame.orientation.rowOrder,
    transpose: frame.orientation.transpose,
    pixelAspect,
    seenFromSample,
  };
}

/** @param centre takes the place of the geometry's own beam centre, so that overlays follow a drag at once */
export function stageOf(
  layout: Layout,
  view: Viewport,
  size: Size,
  geometry: Geometry | undefined,
  centre: ArrayPoint | undefined,
): Stage {
  const toScreen = screenTransform(layout, view, size);
  const optics = geometry && bankOptics(centre ? { ...geometry, beamCentre: { x: centre.x, y: centre.y } } : geometry);
  return { layout, view, size, toScreen, toArray: invert(toScreen), optics };
}

export function toScreen(stage: Stage, point: ArrayPoint): ScreenPoint {
  return apply(stage.toScreen, point);
}

export function toArray(stage: Stage, point: ScreenPoint): ArrayPoint {
  return apply(stage.toArray, point);
}

/** A step on the screen (-1, 0, 1 each way; y down) as a step of one pixel in array coordinates. */
export function arrayStep({ toArray: { a, b, c, d } }: Stage, dx: number, dy: number): ArrayPoint {
  return { x: Math.sign(a * dx + c * dy) + 0, y: Math.sign(b * dx + d * dy) + 0 };
}

/** An SVG path through array points, in CSS px. */
export function pathOf(points: readonly ArrayPoint[], stage: Stage, close: boolean): string {
  if (points.length === 0) return "";
  let path = "";
  for (const point of points) {
    const { x, y } = toScreen(stage, point);
    path += `${path === "" ? "M" : "L"}${x.toFixed(2)} ${y.toFixed(2)}`;
  }
  return close ? `${path}Z` : path;
}
