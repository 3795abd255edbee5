import type { FrameDisplay, FrameImage, FrameLamp } from "../view-types.ts";
import { CanvasSurface } from "./canvas-surface.ts";
import type { Affine, Size } from "./display-transform.ts";
import { baseLevel, maskBytes, Pyramid } from "./pyramid.ts";
import type { FrameSurface, SurfaceColours } from "./surface.ts";

/** Loads what draws by the machine's graphics, a third of the window's code, and starts them: the curve need not wait. */
export async function prepareGraphics(): Promise<void> {
  const { WebglSurface } = await loadSurface();
  await WebglSurface.prepare();
}

function loadSurface(): Promise<typeof import("./webgl-surface.ts")> {
  return import("./webgl-surface.ts");
}

/**
 * The frame's picture on a surface, drawn on demand: any number of changes make one drawing in the next animation
 * frame, and an idle view costs nothing.
 */
export class FrameCanvas {
  readonly #surface: FrameSurface;
  #shown: FrameImage | undefined;
  #pyramid: Pyramid | undefined;
  #view: { readonly transform: Affine; readonly size: Size; readonly pixelRatio: number } | undefined;
  #display: FrameDisplay | undefined;
  #lamp: FrameLamp | undefined;
  #requested = 0;

  private constructor(surface: FrameSurface, host: HTMLElement) {
    this.#surface = surface;
    surface.canvas.setAttribute("aria-hidden", "true");
    surface.canvas.addEventListener("webglcontextrestored", this.requestDraw);
    host.append(surface.canvas);
  }

  static async create(host: HTMLElement): Promise<FrameCanvas> {
    const { WebglSurface } = await loadSurface();
    return new FrameCanvas((await WebglSurface.create()) ?? new CanvasSurface(), host);
  }

  get kind(): FrameSurface["kind"] {
    return this.#surface.kind;
  }

  /** Takes over counts or mask only where their arrays are others than before. */
  setFrame(frame: FrameImage | undefined): void {
    const before = this.#shown;
    this.#shown = frame;
    if (!frame) this.#pyramid = undefined;
    else if (this.#pyramid && before?.counts === frame.counts && before.width === frame.width) {
      if (before.mask === frame.mask) return;
      const { width, height, values } = this.#pyramid.level(0);
      this.#pyramid = new Pyramid({ width, height, values, masked: maskBytes(frame.mask) });
    } else this.#pyramid = new Pyramid(baseLevel(frame.counts, frame.mask, frame.width, frame.height));
    this.#surface.setFrame(this.#pyramid);
    if (this.#lamp) this.#surface.setLamp(this.#lampThatFits());
    if (this.#view) this.#surface.setView(this.#view.transform, this.#view.size, this.#view.pixelRatio);
    this.requestDraw();
  }

  setDisplay(display: FrameDisplay): void {
    if (this.#display && isSameDisplay(this.#display, display)) return;
    this.#display = display;
    this.#surface.setDisplay(display);
    this.requestDraw();
  }

  setColours(colours: SurfaceColours): void {
    this.#surface.setColours(colours);
    this.requestDraw();
  }

  setLamp(lamp: FrameLamp | undefined): void {
    if (lamp?.bins === this.#lamp?.bins && lamp?.bin === this.#lamp?.bin) return;
    this.#lamp = lamp;
    this.#surface.setLamp(this.#lampThatFits());
    this.requestDraw();
  }

  setView(transform: Affine, size: Size, pixelRatio: number): void {
    const { transform: before, size: room, pixelRatio: ratio } = this.#view ?? {};
    if (before && room && ratio === pixelRatio && isSame(before, transform) && isSame(room, size)) return;
    this.#view = { transform, size, pixelRatio };
    this.#surface.setView(transform, size, pixelRatio);
    this.requestDraw();
  }

  readonly requestDraw = (): void => {
    if (this.#requested !== 0) return;
    this.#requested = requestAnimationFrame(() => {
      this.#requested = 0;
      this.#surface.draw();
    });
  };

  /** RGBA 0..255 at a point of the view, CSS px. Stalls the drawing: for tests. */
  colourAt(x: number, y: number): readonly number[] {
    return this.#surface.colourAt(x, y);
  }

  destroy(): void {
    if (this.#requested !== 0) cancelAnimationFrame(this.#requested);
    this.#surface.canvas.removeEventListener("webglcontextrestored", this.requestDraw);
    this.#surface.destroy();
  }

  /** A bin map of another frame may be on its way out while the new frame is already here. */
  #lampThatFits(): FrameLamp | undefined {
    return this.#lamp && this.#shown && this.#lamp.bins.length === this.#shown.counts.length ? this.#lamp : undefined;
  }
}

function isSame<T extends object>(a: T, b: T): boolean {
  return (Object.keys(a) as (keyof T)[]).every((key) => a[key] === b[key]);
}

function isSameDisplay(a: FrameDisplay, b: FrameDisplay): boolean {
  return (
    a.scale === b.scale &&
    a.palette === b.palette &&
    a.range.low === b.range.low &&
    a.range.high === b.range.high &&
    a.maskStyle === b.maskStyle
  );
}
