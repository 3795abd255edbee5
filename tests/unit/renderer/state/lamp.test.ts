import { describe, expect, it } from "vitest";
import { pointOfPixel } from "../../../../renderer/state/lamp.ts";
import { aCurve } from "../../../support/reduction-builder.ts";

// Bins 1 and 3 are empty and left out of the curve.
const curve = aCurve({ id: "radial", bin: Int32Array.of(0, 2, 4, 5) });
const bins = Int32Array.of(-1, 0, 1, 2, 3, 4, 5, 6);

describe("the point of a pixel", () => {
  it.each([
    [1, 0],
    [3, 1],
    [5, 2],
    [6, 3],
  ])("pixel %i lights point %i", (pixel, index) => {
    expect(pointOfPixel(curve, bins, pixel)).toEqual({ key: "radial", index });
  });

  it.each([0, 2, 4, 7, 99])("pixel %i, masked, in an empty bin or outside, lights none", (pixel) => {
    expect(pointOfPixel(curve, bins, pixel)).toBeUndefined();
  });
});
