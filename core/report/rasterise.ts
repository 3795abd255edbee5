import type { Rasterise } from "./output-services.ts";
import { withPrintedSize } from "./png.ts";

/** The part of @resvg/resvg-wasm that drawing needs; a host passes the class in once the wasm module has started. */
export interface SvgRenderer {
  new (
    svg: string,
    options: {
      readonly font: { readonly fontBuffers: Uint8Array[]; readonly defaultFontFamily: string };
      readonly fitTo: { readonly mode: "width"; readonly value: number };
      readonly imageRendering: 1;
    },
  ): {
    free(): void;
    render(): { free(): void; readonly width: number; readonly height: number; asPng(): Uint8Array };
  };
}

/** The fonts of the figures, in the WOFF2 that the renderer takes as it is: words in two weights, numbers in one. */
export const FIGURE_FONTS = [
  "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-400-normal.woff2",
  "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-600-normal.woff2",
  "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-ext-400-normal.woff2",
  "@fontsource/atkinson-hyperlegible-mono/files/atkinson-hyperlegible-mono-latin-400-normal.woff2",
] as const;

/** The renderer doesn't know CSS's "pixelated", so it is told for all images; its name for it is "optimize speed". */
const NEAREST_NEIGHBOUR = 1;

/** A user unit is a point, 1/72 inch. */
const POINTS_PER_METRE = 72 / 0.0254;

const USER_WIDTH = /viewBox="0 0 ([\d.]+) /;

/** Draws our figures with the fonts given, in any host the same. */
export function svgRasteriser(renderer: SvgRenderer, fonts: readonly Uint8Array[]): Rasterise {
  return async (svg, scale) => {
    if (!(Number.isInteger(scale) && scale > 0)) throw new RangeError(`scale must be a whole number > 0, not ${scale}`);
    const width = Number(USER_WIDTH.exec(svg)?.[1]);
    if (!(width > 0)) throw new RangeError("a figure needs a viewBox that starts at 0 0");
    const drawing = new renderer(svg, {
      font: { fontBuffers: [...fonts], defaultFontFamily: "Atkinson Hyperlegible Next" },
      fitTo: { mode: "width", value: Math.round(width * scale) },
      imageRendering: NEAREST_NEIGHBOUR,
    });
    try {
      const image = drawing.render();
      try {
        return withPrintedSize(image.asPng(), scale * POINTS_PER_METRE);
      } finally {
        image.free();
      }
    } finally {
      drawing.free();
    }
  };
}
