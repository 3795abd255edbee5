import type { FrameDisplay, FrameLamp } from "../view-types.ts";
import type { Affine, Size } from "./display-transform.ts";
import type { Pyramid } from "./pyramid.ts";

export type Rgb = readonly [number, number, number];

/** Colours 0..1 that don't come from the palette. */
export interface SurfaceColours {
  /** The lamp. */
  readonly accent: Rgb;
  /** Lines across masked pixels. */
  readonly hatch: Rgb;
  /** What masked pixels are mixed with. */
  readonly ground: Rgb;
  /** Pixels whose value isn't a finite number. */
  readonly bad: Rgb;
}

/** Where the frame's pixels become screen pixels: WebGL, or a 2D canvas where there is no WebGL. */
export interface FrameSurface {
  readonly kind: "webgl" | "canvas";
  readonly canvas: HTMLCanvasElement;
  setFrame(pyramid: Pyramid | undefined): void;
  setDisplay(display: FrameDisplay): void;
  setColours(colours: SurfaceColours): void;
  setLamp(lamp: FrameLamp | undefined): void;
  /** @param transform array coordinates to CSS px */
  setView(transform: Affine, size: Size, pixelRatio: number): void;
  draw(): void;
  /** Draws and reads one screen pixel (CSS px) in the same task, RGBA 0..255. Slow: for tests. */
  colourAt(x: number, y: number): readonly number[];
  destroy(): void;
}

/** CSS px between the lines across masked pixels, and the width of a line. */
export const HATCH_PERIOD = 7;
export const HATCH_WIDTH = 1.2;
/** How much of their brightness pixels outside the lamp keep. */
export const LAMP_DIM = 0.5;
/** How much of a masked pixel is ground rather than palette. */
export const MASK_VEIL = 0.72;
/** The lamp keeps some of the data: the accent at this brightness for the darkest pixel. */
export const LAMP_DARKEST = 0.72;
