import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { shapeMask } from "../../../../core/model/mask-shapes.ts";
import { BrushStroke, outlines } from "../../../../renderer/frame/brush-stroke.ts";

const SIZE = { width: 40, height: 30 };

function masked(stroke: BrushStroke): number[] {
  const shape = stroke.shape();
  const mask = shapeMask(shape ? [shape] : [], SIZE.width, SIZE.height);
  return [...mask.keys()].filter((p) => mask[p] !== 0);
}

const sorted = (pixels: ReadonlySet<number>): number[] => [...pixels].sort((a, b) => a - b);

describe("a brush stroke", () => {
  it("paints the pixel centres within its radius", () => {
    const stroke = new BrushStroke(SIZE, 2);
    stroke.to({ x: 10, y: 10 });
    // The 13 lattice points within 2 of a lattice point.
    expect(stroke.pixels.size).toBe(13);
  });

  it("leaves no gap between two positions of a quick hand", () => {
    const stroke = new BrushStroke(SIZE, 1);
    stroke.to({ x: 2, y: 5 });
    stroke.to({ x: 35, y: 5 });
    for (let x = 2; x <= 35; x++) expect(stroke.pixels.has(5 * SIZE.width + x)).toBe(true);
  });

  it("becomes a polygon that masks the painted pixels and no other, holes and all", () => {
    const points = fc.array(
      fc.record({ x: fc.double({ min: -5, max: 45, noNaN: true }), y: fc.double({ min: -5, max: 35, noNaN: true }) }),
      { minLength: 1, maxLength: 8 },
    );
    fc.assert(
      fc.property(points, fc.double({ min: 0.3, max: 6, noNaN: true }), (path, radius) => {
        const stroke = new BrushStroke(SIZE, radius);
        for (const point of path) stroke.to(point);
        expect(masked(stroke)).toEqual(sorted(stroke.pixels));
      }),
    );
  });

  it("keeps the hole of a ring open", () => {
    const stroke = new BrushStroke(SIZE, 1);
    for (let i = 0; i <= 16; i++)
      stroke.to({ x: 20 + 9 * Math.cos((i * Math.PI) / 8), y: 15 + 9 * Math.sin((i * Math.PI) / 8) });
    expect(outlines(stroke.pixels, SIZE.width)).toHaveLength(2);
    expect(stroke.pixels.has(15 * SIZE.width + 20)).toBe(false);
    expect(masked(stroke)).toEqual(sorted(stroke.pixels));
  });

  it("is nothing beside the frame", () => {
    const stroke = new BrushStroke(SIZE, 2);
    stroke.to({ x: -50, y: -50 });
    expect(stroke.shape()).toBeUndefined();
  });
});

it("draws any set of pixels, however they touch", () => {
  fc.assert(
    fc.property(fc.uniqueArray(fc.integer({ min: 0, max: 24 }), { minLength: 1 }), (list) => {
      const pixels = new Set(list.map((p) => (p % 5) + 3 + (Math.floor(p / 5) + 3) * SIZE.width));
      const loops = outlines(pixels, SIZE.width);
      // Shoelace: holes run the other way round, so that the areas add up to the number of pixels.
      let area = 0;
      for (const loop of loops)
        loop.forEach(([x, y], i) => {
          const [nx, ny] = loop[(i + 1) % loop.length]!;
          area += (x * ny - nx * y) / 2;
        });
      expect(area).toBe(pixels.size);
    }),
  );
});
