import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { qAt } from "../../../core/geometry/maps.ts";
import { qMinBeyondStop, qRange, sizeOfQ } from "../../../core/geometry/q-range.ts";
import { qOfRadius, radiusOfQ } from "../../../core/geometry/radius-of-q.ts";
import { someGeometry } from "../averaging/frames.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";

function metreBank(distance: number, wavelength: number) {
  return someGeometry({
    ...{ width: 200, height: 200, distance, wavelength },
    beamCentre: { x: 99.5, y: 99.5 },
  });
}

const CASES = [2, 4, 8, 12].flatMap((length) => [2, 6, 12].map((lambda) => `qrange.L${length}.lam${lambda}`));

describe("qRange", () => {
  it.skipIf(CHECK_VALUES_ABSENT).each(CASES)("gives %s", (id) => {
    const { inputs, expected } = checkValues(id);
    const geometry = metreBank(inputs.L_m, inputs.lambda_A);
    const { edge, corner } = qRange(geometry);
    const stop = { radius: inputs.beamstop_radius_m, penumbra: 0, offset: 0 };
    const qMin = qMinBeyondStop(geometry, stop);
    expect(relative(qMin, expected.Qmin)).toBeLessThan(1e-9);
    expect(relative(edge!, expected.Qedge)).toBeLessThan(1e-9);
    expect(relative(corner, expected.Qcorner)).toBeLessThan(1e-9);
    expect(relative(sizeOfQ(qMin) / 10, expected.dmax_nm)).toBeLessThan(1e-9);
    expect(relative(sizeOfQ(corner) / 10, expected.d_corner_nm)).toBeLessThan(1e-9);
  });

  it("has no complete ring where the beam passes beside the bank", () => {
    const geometry = someGeometry({ beamCentre: { x: -10, y: 5 } });
    expect(qRange(geometry).edge).toBeUndefined();
    expect(qRange(geometry).corner).toBe(qAt(geometry, 31.5, 23.5));
  });

  it("moves the lowest Q out by the penumbra and in by the offset on the far side", () => {
    const camera = { distance: 2, wavelength: 6 };
    const shadow = { radius: 0.03, penumbra: 0.002, offset: 0.005 };
    expect(qMinBeyondStop(camera, shadow)).toBe(qOfRadius(camera, 0.03 + 0.002 - 0.005));
    expect(qMinBeyondStop(camera, { ...shadow, offset: 0.05 })).toBe(0);
  });
});

describe("radiusOfQ", () => {
  it("undoes qOfRadius", () => {
    const real = (min: number, max: number) => fc.double({ min, max, noNaN: true });
    fc.assert(
      fc.property(real(0.5, 20), real(1, 20), real(0, 1), (distance, wavelength, radius) => {
        const camera = { distance, wavelength };
        expect(Math.abs(radiusOfQ(camera, qOfRadius(camera, radius)) - radius)).toBeLessThan(1e-13);
      }),
      { seed: 5, numRuns: 300 },
    );
  });

  it("agrees with L tan(2 theta) of the third silver behenate ring", () => {
    // d001 = 58.380 A: Huang, Toraya, Blanton & Wu 1993, J. Appl. Cryst. 26, 180.
    const [distance, wavelength] = [2, 6];
    const sine = (3 * wavelength) / (2 * 58.38);
    const radius = distance * Math.tan(2 * Math.asin(sine));
    expect(relative(radiusOfQ({ distance, wavelength }, (3 * 2 * Math.PI) / 58.38), radius)).toBeLessThan(1e-14);
  });

  it("has no radius from 90 degrees on", () => {
    const camera = { distance: 1, wavelength: 6 };
    const k = (2 * Math.PI) / 6;
    expect(radiusOfQ(camera, 2 * k * Math.sin(Math.PI / 4) * 1.0000001)).toBe(Number.POSITIVE_INFINITY);
    expect(radiusOfQ(camera, 3 * k)).toBe(Number.POSITIVE_INFINITY);
  });
});
