import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bankPlane } from "../../../core/geometry/bank-plane.ts";
import { bankSolidAngle, pixelSolidAngle, solidAngleMap } from "../../../core/geometry/solid-angle.ts";
import { someGeometry } from "../averaging/frames.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";
import { anyGeometry } from "./geometries.ts";

function squareBank(n: number, distance: number) {
  const middle = (n - 1) / 2;
  return someGeometry({
    ...{ width: n, height: n, pixelSizeX: 1 / n, pixelSizeY: 1 / n, distance },
    beamCentre: { x: middle, y: middle },
  });
}

function total(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0);
}

describe("solidAngleMap", () => {
  it.each([2, 4, 12])("adds up to the solid angle of the whole bank at %i m, to 1e-10", (distance) => {
    // A centred a x b rectangle: 4 asin(a b / sqrt((4 L^2 + a^2)(4 L^2 + b^2))).
    const closed = 4 * Math.asin(1 / (4 * distance * distance + 1));
    expect(relative(total(solidAngleMap(squareBank(200, distance), "exact")), closed)).toBeLessThan(1e-10);
  });

  it.skipIf(CHECK_VALUES_ABSENT)("gives the published sums, and the excess of the cosine-cubed form", () => {
    const { expected } = checkValues("solid.sum200");
    const exact = total(solidAngleMap(squareBank(200, 2), "exact"));
    const cosine = total(solidAngleMap(squareBank(200, 2), "cosine-cubed"));
    expect(relative(exact, expected.sum_exact_sr)).toBeLessThan(1e-11);
    expect(relative(cosine, expected.sum_cos3_sr)).toBeLessThan(1e-11);
    expect(Math.abs(cosine / exact - 1 - expected.rel_diff)).toBeLessThan(1e-9);
  });

  it.skipIf(CHECK_VALUES_ABSENT).each(["solid.pixel.centre", "solid.pixel.edge", "solid.pixel.corner"])(
    "gives %s",
    (id) => {
      const { inputs, expected } = checkValues(id);
      const geometry = squareBank(200, 2);
      const column = Math.round(inputs.x_m / 0.005 + 99.5);
      const row = Math.round(inputs.y_m / 0.005 + 99.5);
      const p = row * 200 + column;
      expect(relative(solidAngleMap(geometry, "exact")[p]!, expected.exact_sr)).toBeLessThan(1e-7);
      expect(relative(solidAngleMap(geometry, "cosine-cubed")[p]!, expected.cos3_sr)).toBeLessThan(1e-7);
    },
  );

  it("adds up on any bank, square or tilted: the pixels tile it", () => {
    for (const tilted of [false, true])
      fc.assert(
        fc.property(anyGeometry(tilted), (geometry) => {
          const sum = total(solidAngleMap(geometry, "exact"));
          expect(relative(sum, bankSolidAngle(bankPlane(geometry)))).toBeLessThan(1e-10);
        }),
        { seed: 4, numRuns: 60 },
      );
  });

  it("gives the same by corners and by triangles on a bank square to the beam", () => {
    const geometry = someGeometry({ pixelSizeX: 0.004, rowOrder: "top-down", transpose: true });
    const plane = bankPlane(geometry);
    // Corner differences lose the digits by which a pixel is smaller than the bank.
    for (const [p, omega] of solidAngleMap(geometry, "exact").entries())
      expect(relative(omega, pixelSolidAngle(plane, p % 32, Math.floor(p / 32)))).toBeLessThan(1e-10);
  });

  it("takes the projected area on a tilted bank", () => {
    // On the beam itself: area times the cosine of the tilt over the square of the distance.
    const geometry = someGeometry({ beamCentre: { x: 10, y: 10 }, tilt: [0.4, 0] });
    const onBeam = solidAngleMap(geometry, "cosine-cubed")[10 * 32 + 10]!;
    expect(relative(onBeam, (0.005 * 0.005 * Math.cos(0.4)) / 4)).toBeLessThan(1e-14);
    expect(relative(solidAngleMap(geometry, "exact")[10 * 32 + 10]!, onBeam)).toBeLessThan(5e-6);
  });
});
