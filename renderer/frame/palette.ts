import { interpolateCividis, interpolateMagma, interpolatePuOr, interpolateViridis } from "d3-scale-chromatic";
import type { PaletteName } from "../view-types.ts";

export const PALETTE_SIZE = 256;

/** Purple to orange through white is told apart by red-green blind eyes; grey starts above black, to tell it from no data. */
const INTERPOLATORS: Readonly<Record<PaletteName, (t: number) => string>> = {
  cividis: interpolateCividis,
  viridis: interpolateViridis,
  magma: interpolateMagma,
  grey: (t) => {
    const level = Math.round(16 + t * 239);
    return `rgb(${level}, ${level}, ${level})`;
  },
  diverging: interpolatePuOr,
};

const made = new Map<PaletteName, Uint8Array<ArrayBuffer>>();

/** 256 colours, RGBA bytes. The same array each time. */
export function paletteBytes(name: PaletteName): Uint8Array<ArrayBuffer> {
  const known = made.get(name);
  if (known) return known;
  const bytes = new Uint8Array(PALETTE_SIZE * 4);
  for (let i = 0; i < PALETTE_SIZE; i++) {
    const [r, g, b] = rgb(INTERPOLATORS[name](i / (PALETTE_SIZE - 1)));
    bytes.set([r, g, b, 255], i * 4);
  }
  made.set(name, bytes);
  return bytes;
}

/** CSS colour of a place 0..1 on the palette. */
export function paletteColour(name: PaletteName, t: number): string {
  return INTERPOLATORS[name](t);
}

/** Reads the two forms that the interpolators give: "#rrggbb" and "rgb(r, g, b)". */
function rgb(colour: string): readonly [number, number, number] {
  const hex = /^#([0-9a-f]{6})$/i.exec(colour)?.[1];
  if (hex !== undefined) {
    const value = Number.parseInt(hex, 16);
    return [value >> 16, (value >> 8) & 255, value & 255];
  }
  const [r, g, b] = (colour.match(/\d+(\.\d+)?/g) ?? []).map(Number);
  if (r === undefined || g === undefined || b === undefined) throw new TypeError(`not a colour: ${colour}`);
  return [Math.round(r), Math.round(g), Math.round(b)];
}
