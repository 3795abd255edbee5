import { describe, expect, it } from "vitest";
import type { MaskShape } from "../../../../core/plan/plan.ts";
import { begun, continued, shapeOf, withCorner, withoutLastCorner } from "../../../../renderer/frame/drawing.ts";
import { degreesBetween, rotated, widened, withInner, withOuter } from "../../../../renderer/frame/sector-edit.ts";
import {
  circleAround,
  handlesOf,
  moved,
  movesByWholePixels,
  rectangleBetween,
  reshaped,
} from "../../../../renderer/frame/shape-edit.ts";

const RECTANGLE: MaskShape = { kind: "rectangle", x: 10, y: 20, width: 5, height: 3 };

describe("rectangles", () => {
  it("take the whole pixels between two corners, whichever comes first", () => {
    // Pixel 10 spans 9.5 to 10.5.
    const wanted = { kind: "rectangle", x: 10, y: 20, width: 5, height: 3 };
    expect(rectangleBetween({ x: 9.5, y: 19.5 }, { x: 14.5, y: 22.5 })).toEqual(wanted);
    expect(rectangleBetween({ x: 14.4, y: 22.6 }, { x: 9.6, y: 19.4 })).toEqual(wanted);
  });

  it("keep a pixel at least", () => {
    expect(rectangleBetween({ x: 3.1, y: 3.1 }, { x: 3.1, y: 3.1 })).toMatchObject({ width: 1, height: 1 });
  });

  it("have their handles on pixel edges, and are what the handles make of them", () => {
    const handles = handlesOf(RECTANGLE);
    expect(handles[0]).toMatchObject({ x: 9.5, y: 19.5 });
    expect(handles[2]).toMatchObject({ x: 14.5, y: 22.5 });
    for (const [i, handle] of handles.entries()) expect(reshaped(RECTANGLE, i, handle)).toEqual(RECTANGLE);
    expect(reshaped(RECTANGLE, 2, { x: 19.5, y: 29.5 })).toEqual({ ...RECTANGLE, width: 10, height: 10 });
    // Past the opposite corner.
    expect(reshaped(RECTANGLE, 2, { x: 4.5, y: 14.5 })).toEqual({
      kind: "rectangle",
      x: 5,
      y: 15,
      width: 5,
      height: 5,
    });
  });
});

describe("circles and polygons", () => {
  it("keep the middle while the radius changes", () => {
    const circle = circleAround({ x: 5, y: 6 }, { x: 8, y: 10 });
    expect(circle).toEqual({ kind: "circle", x: 5, y: 6, r: 5 });
    expect(reshaped(circle, 0, { x: 5, y: 8 })).toEqual({ kind: "circle", x: 5, y: 6, r: 2 });
  });

  it("move one corner, or all of them", () => {
    const polygon: MaskShape = {
      kind: "polygon",
      points: [
        [0, 0],
        [4, 0],
        [0, 4],
      ],
    };
    expect(reshaped(polygon, 1, { x: 6, y: 1 })).toEqual({
      kind: "polygon",
      points: [
        [0, 0],
        [6, 1],
        [0, 4],
      ],
    });
    expect(moved(polygon, { x: 1, y: 2 })).toEqual({
      kind: "polygon",
      points: [
        [1, 2],
        [5, 2],
        [1, 6],
      ],
    });
    expect(movesByWholePixels(polygon)).toBe(false);
    expect(movesByWholePixels(RECTANGLE)).toBe(true);
  });
});

describe("drawing", () => {
  const size = { width: 50, height: 50 };

  it("is no shape until the hand has moved", () => {
    const circle = begun("circle", { x: 5, y: 5 }, size, 3);
    expect(shapeOf(circle)).toBeUndefined();
    expect(shapeOf(continued(circle, { x: 9, y: 5 }))).toMatchObject({ kind: "circle", r: 4 });
  });

  it("needs three corners for a polygon, does not take one twice, and can take one back", () => {
    let drawing = begun("polygon", { x: 0, y: 0 }, size, 3);
    if (drawing.tool !== "polygon") throw new Error("another tool");
    drawing = withCorner(drawing, { x: 5, y: 0 }, 0.5);
    if (drawing.tool !== "polygon") throw new Error("another tool");
    drawing = withCorner(drawing, { x: 5.1, y: 0 }, 0.5);
    expect(shapeOf(drawing)).toBeUndefined();
    if (drawing.tool !== "polygon") throw new Error("another tool");
    drawing = withCorner(drawing, { x: 0, y: 5 }, 0.5);
    expect(shapeOf(drawing)).toEqual({
      kind: "polygon",
      points: [
        [0, 0],
        [5, 0],
        [0, 5],
      ],
    });
    if (drawing.tool !== "polygon") throw new Error("another tool");
    const shorter = withoutLastCorner(drawing);
    expect(shorter && shapeOf(shorter)).toBeUndefined();
  });
});

describe("sectors and annuli", () => {
  const sector = { id: "s", centre_deg: 350, halfWidth_deg: 15, mirrored: false };

  it("turn through north without a jump", () => {
    expect(rotated(sector, 365).centre_deg).toBe(5);
    expect(rotated(sector, -10).centre_deg).toBe(350);
    expect(degreesBetween(350, 10)).toBe(20);
    expect(degreesBetween(10, 350)).toBe(-20);
  });

  it("widen to either side, mirrored ones from either wedge", () => {
    expect(widened(sector, 20).halfWidth_deg).toBe(30);
    expect(widened(sector, 320).halfWidth_deg).toBe(30);
    expect(widened({ ...sector, mirrored: true }, 200).halfWidth_deg).toBe(30);
    expect(widened({ ...sector, mirrored: true }, 80).halfWidth_deg).toBe(90);
    expect(widened(sector, 350).halfWidth_deg).toBe(0.5);
  });

  it("keep an annulus wider outside than inside", () => {
    const annulus = { id: "a", qMin: 0.02, qMax: 0.03 };
    expect(withOuter(annulus, 0.041234).qMax).toBe(0.04123);
    expect(withOuter(annulus, 0.01).qMax).toBeGreaterThan(0.02);
    expect(withInner(annulus, 0.05).qMin).toBeLessThan(0.03);
    expect(withInner(annulus, -1).qMin).toBe(0);
  });
});
