import { describe, expect, it } from "vitest";
import type { Geometry } from "../../../../core/model/geometry.ts";
import { offsetInWords, stopOffset } from "../../../../renderer/state/stop-offset.ts";

const geometry: Geometry = {
  width: 128,
  height: 128,
  pixelSizeX: 0.005,
  pixelSizeY: 0.004,
  distance: 4,
  wavelength: 6,
  beamCentre: { x: 60, y: 60 },
  tilt: [0, 0],
  rowOrder: "bottom-up",
  transpose: false,
};
const beam = { x: 60, y: 60, method: "given", from: "plan", xSigma: 0.3, ySigma: 0.3 } as const;
const stop = { shape: "circle", x: 62, y: 59, radius: 6, xSigma: 0.4, ySigma: 0.4 } as const;

describe("where the stop stands from the beam", () => {
  // Two columns of 5 mm to the right, one row of 4 mm down; sigma 5 mm x sqrt(0.3^2 + 0.4^2).
  it("is stop minus beam in mm, with both sigmas in quadrature", () => {
    const { right_mm, up_mm } = stopOffset(stop, beam, geometry);
    expect(right_mm.value).toBeCloseTo(10, 12);
    expect(right_mm.sigma).toBeCloseTo(2.5, 12);
    expect(up_mm.value).toBeCloseTo(-4, 12);
    expect(up_mm.sigma).toBeCloseTo(2, 12);
  });

  it("turns over where rows run down, and changes sides where the picture is transposed", () => {
    expect(stopOffset(stop, beam, { ...geometry, rowOrder: "top-down" }).up_mm.value).toBeCloseTo(4, 12);
    const transposed = stopOffset(stop, beam, { ...geometry, transpose: true });
    expect([transposed.right_mm.value, transposed.up_mm.value].map((mm) => Math.round(mm))).toEqual([-4, 10]);
  });

  it("has no sigma where the centre has none", () => {
    const given = { x: 60, y: 60, method: "given", from: "plan" } as const;
    expect(stopOffset(stop, given, geometry).right_mm.sigma).toBeUndefined();
  });

  it("reads as a person says it", () => {
    expect(offsetInWords(stopOffset(stop, beam, geometry))).toBe("10.0 mm right and 4.0 mm below");
  });
});
