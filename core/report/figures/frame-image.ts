import { pngBytes } from "../png.ts";
import { type ColourScale, colourStep, coloursOf } from "./colour-scale.ts";
import { INK } from "./palette.ts";
import { type Picture, storedIndex } from "./picture.ts";

export interface FrameImage {
  readonly png: Uint8Array<ArrayBuffer>;
  readonly masked: number;
  /** Used pixels that the scale has no colour for; they stay paper white. */
  readonly uncoloured: number;
}

/** One image pixel a frame pixel, as the picture stands: masked pixels in the masked colour, those without a colour white. */
export function frameImage(
  values: ArrayLike<number>,
  mask: Uint16Array,
  { picture, colours }: { readonly picture: Picture; readonly colours: ColourScale | undefined },
): FrameImage {
  const { across, down } = picture;
  const rgba = new Uint8Array(4 * across * down);
  const [hiddenR, hiddenG, hiddenB] = channelsOf(INK.masked);
  const [blankR, blankG, blankB] = channelsOf(INK.paper);
  const table = coloursOf(colours ?? {});
  let masked = 0;
  let uncoloured = 0;
  for (let line = 0; line < down; line++) {
    for (let column = 0; column < across; column++) {
      const p = storedIndex(picture, column, line);
      const out = 4 * (line * across + column);
      const step = colours === undefined ? undefined : colourStep(colours, values[p]!);
      rgba[out + 3] = 255;
      if (mask[p] !== 0) {
        masked++;
        rgba[out] = hiddenR;
        rgba[out + 1] = hiddenG;
        rgba[out + 2] = hiddenB;
      } else if (step === undefined || Number.isNaN(values[p]!)) {
        uncoloured++;
        rgba[out] = blankR;
        rgba[out + 1] = blankG;
        rgba[out + 2] = blankB;
      } else {
        rgba[out] = table[3 * step]!;
        rgba[out + 1] = table[3 * step + 1]!;
        rgba[out + 2] = table[3 * step + 2]!;
      }
    }
  }
  return { png: pngBytes(rgba, { width: across, height: down }), masked, uncoloured };
}

/** The colour scale as a strip, one pixel wide, its high end on top. */
export function colourStrip(colours: Pick<ColourScale, "palette">): Uint8Array<ArrayBuffer> {
  const table = coloursOf(colours);
  const height = table.length / 3;
  const rgba = new Uint8Array(4 * height);
  for (let line = 0; line < height; line++) {
    const step = height - 1 - line;
    rgba.set(table.subarray(3 * step, 3 * step + 3), 4 * line);
    rgba[4 * line + 3] = 255;
  }
  return pngBytes(rgba, { width: 1, height });
}

function channelsOf(colour: string): readonly [number, number, number] {
  const value = Number.parseInt(colour.slice(1), 16);
  return [value >> 16, (value >> 8) & 255, value & 255];
}
