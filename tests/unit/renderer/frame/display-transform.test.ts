import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  apply,
  fitted,
  invert,
  type Layout,
  panned,
  pixelAt,
  screenTransform,
  zoomedAt,
} from "../../../../renderer/frame/display-transform.ts";

const LAYOUT: Layout = {
  width: 128,
  height: 96,
  rowOrder: "bottom-up",
  transpose: false,
  pixelAspect: 1,
  seenFromSample: false,
};
const SIZE = { width: 500, height: 400 };
const VIEW = { scale: 3, x: 60, y: 50 };

const layouts = fc.record({
  width: fc.integer({ min: 1, max: 5000 }),
  height: fc.integer({ min: 1, max: 5000 }),
  rowOrder: fc.constantFrom("bottom-up" as const, "top-down" as const),
  transpose: fc.boolean(),
  pixelAspect: fc.double({ min: 0.2, max: 5, noNaN: true }),
  seenFromSample: fc.boolean(),
});

describe("screenTransform", () => {
  // By the conventions of the trade: x to the right, y up for bottom-up rows; screen y runs down.
  it.each([
    { change: {}, right: [1, 0], up: [0, 1] },
    { change: { rowOrder: "top-down" as const }, right: [1, 0], up: [0, -1] },
    { change: { transpose: true }, right: [0, 1], up: [1, 0] },
    { change: { transpose: true, rowOrder: "top-down" as const }, right: [0, 1], up: [-1, 0] },
    { change: { seenFromSample: true }, right: [-1, 0], up: [0, 1] },
    { change: { transpose: true, seenFromSample: true }, right: [0, -1], up: [1, 0] },
  ])("turns array steps as $change says", ({ change, right, up }) => {
    const transform = screenTransform({ ...LAYOUT, ...change }, VIEW, SIZE);
    const at = apply(transform, VIEW);
    expect(at).toEqual({ x: 250, y: 200 });
    const along = apply(transform, { x: VIEW.x + right[0]!, y: VIEW.y + right[1]! });
    expect([along.x - at.x, along.y - at.y]).toEqual([3, 0]);
    const above = apply(transform, { x: VIEW.x + up[0]!, y: VIEW.y + up[1]! });
    expect([above.x - at.x, above.y - at.y]).toEqual([0, -3]);
  });

  it("makes rows of a bank with pixels twice as high as wide twice as far apart", () => {
    const { a, d } = screenTransform({ ...LAYOUT, pixelAspect: 2 }, VIEW, SIZE);
    expect(Math.abs(d / a)).toBe(2);
  });

  it("is undone by its inverse", () => {
    fc.assert(
      fc.property(
        layouts,
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        (layout, x, y) => {
          const transform = screenTransform(layout, { scale: 0.7, x: 3, y: -2 }, SIZE);
          const back = apply(invert(transform), apply(transform, { x, y }));
          expect(Math.hypot(back.x - x, back.y - y)).toBeLessThan(1e-8);
        },
      ),
    );
  });
});

describe("the view", () => {
  it("shows all of a fitted frame and touches one pair of edges nearly", () => {
    fc.assert(
      fc.property(layouts, (layout) => {
        const transform = screenTransform(layout, fitted(layout, SIZE), SIZE);
        const corners = [
          apply(transform, { x: -0.5, y: -0.5 }),
          apply(transform, { x: layout.width - 0.5, y: layout.height - 0.5 }),
        ];
        for (const { x, y } of corners) {
          expect(x).toBeGreaterThanOrEqual(-1e-9);
          expect(x).toBeLessThanOrEqual(SIZE.width + 1e-9);
          expect(y).toBeGreaterThanOrEqual(-1e-9);
          expect(y).toBeLessThanOrEqual(SIZE.height + 1e-9);
        }
      }),
    );
  });

  it("keeps the array point under the pointer while it zooms", () => {
    fc.assert(
      fc.property(
        layouts,
        fc.integer({ min: 0, max: 500 }),
        fc.integer({ min: 0, max: 400 }),
        fc.double({ min: 0.01, max: 100, noNaN: true }),
        (layout, x, y, factor) => {
          const at = { x, y };
          const before = apply(invert(screenTransform(layout, VIEW, SIZE)), at);
          const view = zoomedAt(layout, VIEW, SIZE, at, factor);
          const after = apply(screenTransform(layout, view, SIZE), before);
          expect(Math.hypot(after.x - x, after.y - y)).toBeLessThan(1e-6);
        },
      ),
    );
  });

  it("moves with the hand, and stops with its middle on the frame", () => {
    const moved = panned(LAYOUT, VIEW, SIZE, { x: 30, y: -15 });
    expect(moved).toEqual({ scale: 3, x: expect.closeTo(50, 9), y: expect.closeTo(45, 9) });
    expect(panned(LAYOUT, VIEW, SIZE, { x: 1e6, y: 0 }).x).toBe(-0.5);
  });
});

it("counts a pixel as half a step to either side of its centre", () => {
  expect(pixelAt(LAYOUT, { x: -0.5, y: 95.49 })).toEqual({ x: 0, y: 95 });
  expect(pixelAt(LAYOUT, { x: 0.5, y: 0 })).toEqual({ x: 1, y: 0 });
  expect(pixelAt(LAYOUT, { x: -0.51, y: 0 })).toBeUndefined();
  expect(pixelAt(LAYOUT, { x: 127.5, y: 0 })).toBeUndefined();
});
