import type { Orientation } from "../../core/model/frame.ts";
import type { ArrayPoint } from "../view-types.ts";

/** screen x = a x + c y + e, screen y = b x + d y + f: the order of an SVG matrix. Screen: CSS px, y down. */
export interface Affine {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly e: number;
  readonly f: number;
}

export interface ScreenPoint {
  readonly x: number;
  readonly y: number;
}

/** What decides how stored rows and columns lie on the screen; never the data. */
export interface Layout extends Orientation {
  readonly width: number;
  readonly height: number;
  /** Height of a pixel over its width, in array axes (row pitch over column pitch); 1 where it is unknown. */
  readonly pixelAspect: number;
  readonly seenFromSample: boolean;
}

/** Which array point stands in the middle of the view, and how many CSS px a column is wide. */
export interface Viewport extends ArrayPoint {
  readonly scale: number;
}

export interface Size {
  readonly width: number;
  readonly height: number;
}

const SMALLEST_SCALE = 1 / 64;
const LARGEST_SCALE = 128;
/** Part of the view that a fitted frame takes, so that its edge can be told from the view's. */
const FIT_PART = 0.97;

/** The linear part at one CSS px a column: transpose first, then the row order, then the mirror. */
function axes({ transpose, rowOrder, pixelAspect, seenFromSample }: Layout): Pick<Affine, "a" | "b" | "c" | "d"> {
  const right = seenFromSample ? -1 : 1;
  const down = rowOrder === "top-down" ? 1 : -1;
  return transpose ? { a: 0, b: down, c: right * pixelAspect, d: 0 } : { a: right, b: 0, c: 0, d: down * pixelAspect };
}

/** Array coordinates to the screen. */
export function screenTransform(layout: Layout, view: Viewport, size: Size): Affine {
  const unit = axes(layout);
  const a = unit.a * view.scale;
  const b = unit.b * view.scale;
  const c = unit.c * view.scale;
  const d = unit.d * view.scale;
  return {
    a,
    b,
    c,
    d,
    e: size.width / 2 - a * view.x - c * view.y,
    f: size.height / 2 - b * view.x - d * view.y,
  };
}

export function invert({ a, b, c, d, e, f }: Affine): Affine {
  const determinant = a * d - b * c;
  if (!(Math.abs(determinant) > 0)) throw new RangeError("a display transform must not flatten the frame");
  return {
    a: d / determinant,
    b: -b / determinant,
    c: -c / determinant,
    d: a / determinant,
    e: (c * f - d * e) / determinant,
    f: (b * e - a * f) / determinant,
  };
}

export function apply({ a, b, c, d, e, f }: Affine, { x, y }: { readonly x: number; readonly y: number }): ScreenPoint {
  return { x: a * x + c * y + e, y: b * x + d * y + f };
}

export function svgMatrix({ a, b, c, d, e, f }: Affine): string {
  return `matrix(${a} ${b} ${c} ${d} ${e} ${f})`;
}

/** The whole frame, in the middle of the view. */
export function fitted(layout: Layout, size: Size): Viewport {
  const across = layout.transpose ? layout.height * layout.pixelAspect : layout.width;
  const up = layout.transpose ? layout.width : layout.height * layout.pixelAspect;
  const scale = FIT_PART * Math.min(size.width / across, size.height / up);
  return { scale: clampScale(scale), x: (layout.width - 1) / 2, y: (layout.height - 1) / 2 };
}

/** Zooms by `factor` so that the array point under `at` stays where it is. */
export function zoomedAt(layout: Layout, view: Viewport, size: Size, at: ScreenPoint, factor: number): Viewport {
  const fixed = apply(invert(screenTransform(layout, view, size)), at);
  const scale = clampScale(view.scale * factor);
  const ratio = view.scale / scale;
  return { scale, x: fixed.x + (view.x - fixed.x) * ratio, y: fixed.y + (view.y - fixed.y) * ratio };
}

/** Moves the picture by a screen distance; the middle of the view stays within the frame, so that it can't get lost. */
export function panned(layout: Layout, view: Viewport, size: Size, by: ScreenPoint): Viewport {
  const middle = { x: size.width / 2 - by.x, y: size.height / 2 - by.y };
  const { x, y } = apply(invert(screenTransform(layout, view, size)), middle);
  return { scale: view.scale, x: clamp(x, -0.5, layout.width - 0.5), y: clamp(y, -0.5, layout.height - 0.5) };
}

/** The pixel that a point in array coordinates falls into; undefined outside the frame. */
export function pixelAt({ width, height }: Size, point: ArrayPoint): ArrayPoint | undefined {
  const x = Math.floor(point.x + 0.5);
  const y = Math.floor(point.y + 0.5);
  return x >= 0 && y >= 0 && x < width && y < height ? { x, y } : undefined;
}

function clampScale(scale: number): number {
  return clamp(scale, SMALLEST_SCALE, LARGEST_SCALE);
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
