import { expect, it } from "vitest";
import { PALETTE_SIZE, paletteBytes } from "../../../../renderer/frame/palette.ts";
import { PALETTES, type PaletteName } from "../../../../renderer/view-types.ts";

/** Relative luminance of sRGB bytes (WCAG 2.2). */
function luminance(r: number, g: number, b: number): number {
  const linear = [r, g, b].map((byte) => {
    const c = byte / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * linear[0]! + 0.7152 * linear[1]! + 0.0722 * linear[2]!;
}

function levels(name: PaletteName): number[] {
  const bytes = paletteBytes(name);
  return Array.from({ length: PALETTE_SIZE }, (_, i) => luminance(bytes[4 * i]!, bytes[4 * i + 1]!, bytes[4 * i + 2]!));
}

it.each(PALETTES)("%s is opaque throughout", (name) => {
  const bytes = paletteBytes(name);
  expect(bytes).toHaveLength(4 * PALETTE_SIZE);
  for (let i = 0; i < PALETTE_SIZE; i++) expect(bytes[4 * i + 3]).toBe(255);
});

it.each(PALETTES.filter((name) => name !== "diverging"))(
  "%s grows lighter with the counts, so that it reads without colour",
  (name) => {
    const level = levels(name);
    // Interpolated bytes are rounded: a step may fall back by a part in a thousand.
    for (let i = 1; i < PALETTE_SIZE; i++) expect(level[i]!).toBeGreaterThan(level[i - 1]! - 1e-3);
    expect(level.at(-1)! - level[0]!).toBeGreaterThan(0.6);
  },
);

it("diverging is lightest in the middle, and each side has its own hue", () => {
  const level = levels("diverging");
  expect(level[128]!).toBeGreaterThan(level[10]!);
  expect(level[128]!).toBeGreaterThan(level[245]!);
  const bytes = paletteBytes("diverging");
  expect(bytes[4 * 20 + 2]!).toBeGreaterThan(bytes[4 * 20 + 1]!);
  expect(bytes[4 * 235]!).toBeGreaterThan(bytes[4 * 235 + 2]!);
});
