import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bankPlane } from "../../../core/geometry/bank-plane.ts";
import { arrayPosition, pixelPosition } from "../../../core/geometry/pixel-position.ts";
import { someGeometry } from "../averaging/frames.ts";
import { anyGeometry } from "./geometries.ts";

const centre = { x: 10, y: 10 };

describe("pixelPosition", () => {
  // One step to the right and two up in the picture, worked out by hand for each way of storing it.
  it.each([
    { rowOrder: "bottom-up", transpose: false, x: 11, y: 12 },
    { rowOrder: "top-down", transpose: false, x: 11, y: 8 },
    { rowOrder: "bottom-up", transpose: true, x: 12, y: 11 },
    { rowOrder: "top-down", transpose: true, x: 8, y: 11 },
  ] as const)("finds the same point of the picture, stored $rowOrder, transposed $transpose", ({ x, y, ...stored }) => {
    const geometry = someGeometry({ beamCentre: centre, ...stored });
    const [labX, labY, labZ] = pixelPosition(geometry, x, y);
    expect(labX).toBeCloseTo(0.005, 15);
    expect(labY).toBeCloseTo(0.01, 15);
    expect(labZ).toBe(geometry.distance);
  });

  it("takes the pitch along array axes, transposed or not", () => {
    const geometry = someGeometry({ beamCentre: centre, pixelSizeX: 0.003, pixelSizeY: 0.007, transpose: true });
    const [labX, labY] = pixelPosition(geometry, 11, 12);
    expect(labX).toBeCloseTo(2 * 0.007, 15);
    expect(labY).toBeCloseTo(0.003, 15);
  });

  it("turns about lab x, then about lab y, right-handed, through the beam centre", () => {
    // By hand: 30 degrees about x take (0, 1, 0) to (0, cos 30, sin 30); 20 degrees about y take z to (sin 20, 0, cos 20).
    const [a, b] = [Math.PI / 6, Math.PI / 9];
    const geometry = someGeometry({ beamCentre: centre, tilt: [a, b] });
    const step = 0.005;
    const up = pixelPosition(geometry, 10, 11);
    expect(up[0]).toBeCloseTo(step * Math.sin(a) * Math.sin(b), 15);
    expect(up[1]).toBeCloseTo(step * Math.cos(a), 15);
    expect(up[2]).toBeCloseTo(2 + step * Math.sin(a) * Math.cos(b), 15);
    const right = pixelPosition(geometry, 11, 10);
    expect(right[0]).toBeCloseTo(step * Math.cos(b), 15);
    expect(right[1]).toBeCloseTo(0, 15);
    expect(right[2]).toBeCloseTo(2 - step * Math.sin(b), 15);
    expect(pixelPosition(geometry, 10, 10)).toEqual([0, 0, 2]);
  });

  it("keeps the pitch under any tilt", () => {
    fc.assert(
      fc.property(anyGeometry(true), (geometry) => {
        const { column, row } = bankPlane(geometry);
        expect(Math.hypot(...column) / geometry.pixelSizeX).toBeCloseTo(1, 13);
        expect(Math.hypot(...row) / geometry.pixelSizeY).toBeCloseTo(1, 13);
        expect(column[0] * row[0] + column[1] * row[1] + column[2] * row[2]).toBeCloseTo(0, 16);
      }),
      { seed: 1, numRuns: 200 },
    );
  });

  it("is undone by arrayPosition", () => {
    fc.assert(
      fc.property(anyGeometry(false), fc.nat(23), fc.nat(23), (geometry, x, y) => {
        const [labX, labY] = pixelPosition(geometry, x, y);
        const back = arrayPosition(geometry, labX, labY);
        expect(back?.x).toBeCloseTo(x, 10);
        expect(back?.y).toBeCloseTo(y, 10);
      }),
      { seed: 2, numRuns: 200 },
    );
  });

  it("has no inverse on a tilted bank", () => {
    expect(arrayPosition(someGeometry({ tilt: [0.1, 0] }), 0, 0)).toBeUndefined();
  });

  it.each([
    { distance: 0 },
    { distance: Number.NaN },
    { wavelength: -6 },
    { pixelSizeX: 0 },
    { beamCentre: { x: Number.NaN, y: 1 } },
    { tilt: [Math.PI, 0] as const },
    { width: 2.5 },
  ])("refuses %o", (wrong) => {
    expect(() => pixelPosition(someGeometry(wrong), 1, 1)).toThrow(RangeError);
  });
});
