import type { FrameDisplay, FrameLamp } from "../view-types.ts";
import { type ScaleEnds, scaledValue, scaleEnds } from "./count-scale.ts";
import { type Affine, invert, type Size } from "./display-transform.ts";
import { paletteBytes } from "./palette.ts";
import { levelFor, type Pyramid } from "./pyramid.ts";
import {
  type FrameSurface,
  HATCH_PERIOD,
  HATCH_WIDTH,
  LAMP_DARKEST,
  LAMP_DIM,
  MASK_VEIL,
  type Rgb,
  type SurfaceColours,
} from "./surface.ts";

/** The same picture as the shader's, a screen pixel at a time: for machines without WebGL 2. */
export class CanvasSurface implements FrameSurface {
  readonly kind = "canvas";
  readonly canvas = document.createElement("canvas");
  readonly #context: CanvasRenderingContext2D;
  #pyramid: Pyramid | undefined;
  #display: FrameDisplay | undefined;
  #colours: SurfaceColours | undefined;
  #lamp: FrameLamp | undefined;
  #transform: Affine = { a: 1, b: 0, c: 0, d: 1, e: 0, f: 0 };
  #ratio = 1;

  constructor() {
    const context = this.canvas.getContext("2d", { willReadFrequently: true });
    if (!context) throw new Error("this browser draws neither with WebGL 2 nor on a 2D canvas");
    this.#context = context;
  }

  setFrame(pyramid: Pyramid | undefined): void {
    this.#pyramid = pyramid;
    this.#lamp = undefined;
  }

  setDisplay(display: FrameDisplay): void {
    this.#display = display;
  }

  setColours(colours: SurfaceColours): void {
    this.#colours = colours;
  }

  setLamp(lamp: FrameLamp | undefined): void {
    this.#lamp = lamp;
  }

  setView(transform: Affine, size: Size, pixelRatio: number): void {
    this.#transform = transform;
    this.#ratio = pixelRatio;
    const width = Math.max(1, Math.round(size.width * pixelRatio));
    const height = Math.max(1, Math.round(size.height * pixelRatio));
    if (this.canvas.width !== width) this.canvas.width = width;
    if (this.canvas.height !== height) this.canvas.height = height;
    this.canvas.style.width = `${size.width}px`;
    this.canvas.style.height = `${size.height}px`;
  }

  draw(): void {
    const { width, height } = this.canvas;
    if (!this.#pyramid || !this.#display || !this.#colours) {
      this.#context.clearRect(0, 0, width, height);
      return;
    }
    const image = this.#context.createImageData(width, height);
    this.#paint(image, this.#pyramid, this.#display, this.#colours);
    this.#context.putImageData(image, 0, 0);
  }

  colourAt(x: number, y: number): readonly number[] {
    this.draw();
    const { data } = this.#context.getImageData(Math.floor(x * this.#ratio), Math.floor(y * this.#ratio), 1, 1);
    return [...data];
  }

  destroy(): void {
    this.canvas.remove();
    this.#pyramid = undefined;
    this.#lamp = undefined;
  }

  #paint(image: ImageData, pyramid: Pyramid, display: FrameDisplay, colours: SurfaceColours): void {
    const base = pyramid.level(0);
    const { a, b, c, d } = this.#transform;
    const k = levelFor(this.#ratio * Math.min(Math.hypot(a, b), Math.hypot(c, d)), base.width, base.height);
    const level = pyramid.level(k);
    const inverse = invert(this.#transform);
    const ends: ScaleEnds = scaleEnds(display.scale, display.range);
    const palette = paletteBytes(display.palette);
    const [bad, ground, hatch, accent] = [colours.bad, colours.ground, colours.hatch, colours.accent].map(bytes);
    if (!bad || !ground || !hatch || !accent) return;
    const lamp = this.#lamp?.bins.length === base.width * base.height ? this.#lamp : undefined;
    const { data } = image;
    for (let row = 0, out = 0; row < image.height; row++) {
      const sy = (row + 0.5) / this.#ratio;
      for (let column = 0; column < image.width; column++, out += 4) {
        const sx = (column + 0.5) / this.#ratio;
        const x = Math.floor(inverse.a * sx + inverse.c * sy + inverse.e + 0.5);
        const y = Math.floor(inverse.b * sx + inverse.d * sy + inverse.f + 0.5);
        if (x < 0 || y < 0 || x >= base.width || y >= base.height) continue;
        const texel = (y >> k) * level.width + (x >> k);
        const t = scaledValue(ends, level.values[texel] as number);
        const finite = !Number.isNaN(t);
        const entry = finite ? 4 * Math.floor(t * 255 + 0.5) : 0;
        const lit = lamp !== undefined && lamp.bins[y * base.width + x] === lamp.bin;
        let veil = 0;
        let line = 0;
        if (display.maskStyle !== "off" && level.masked[texel] !== 0) {
          veil = MASK_VEIL;
          if (display.maskStyle === "tinted") line = 0.35;
          else if ((sx + sy) % HATCH_PERIOD < HATCH_WIDTH * Math.SQRT2) line = 0.6;
        }
        for (let channel = 0; channel < 3; channel++) {
          let level8 = finite ? (palette[entry + channel] as number) : (bad[channel] as number);
          level8 += veil * ((ground[channel] as number) - level8);
          level8 += line * ((hatch[channel] as number) - level8);
          if (lit) level8 = (accent[channel] as number) * (LAMP_DARKEST + (1 - LAMP_DARKEST) * (finite ? t : 0));
          else if (lamp) level8 *= LAMP_DIM;
          data[out + channel] = level8;
        }
        data[out + 3] = 255;
      }
    }
  }
}

function bytes([r, g, b]: Rgb): Rgb {
  return [r * 255, g * 255, b * 255];
}
