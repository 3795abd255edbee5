import { describe, expect, it } from "vitest";
import { beamCentreAtWavelength, GRAVITY_FALL, gravityDrop, gravitySmearing } from "../../../core/geometry/gravity.ts";
import { relativeWavelengthSigma } from "../../../core/geometry/wavelength-spread.ts";
import { someGeometry } from "../averaging/frames.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";

describe("gravity", () => {
  it.skipIf(CHECK_VALUES_ABSENT)("falls by B lambda^2 L^2", () => {
    expect(relative(GRAVITY_FALL, checkValues("gravity.B").expected.B_per_m_per_A2)).toBeLessThan(1e-8);
  });

  it
    .skipIf(CHECK_VALUES_ABSENT)
    .each([
      "gravity.drop.6.10.10",
      "gravity.drop.12.10.10",
      "gravity.drop.12.4.4",
      "gravity.drop.18.10.10",
      "gravity.drop.2.10.12",
    ])("gives %s", (id) => {
    const { inputs, expected } = checkValues(id);
    const path = { collimation: inputs.L1_m, distance: inputs.L2_m };
    const drop = gravityDrop(path, inputs.lambda_A) * 1000;
    expect(relative(drop, expected.drop_mm)).toBeLessThan(1e-8);
    const level = gravityDrop({ ...path, collimation: 0 }, inputs.lambda_A) * 1000;
    expect(relative(level, expected.drop_noCollimation_mm)).toBeLessThan(1e-8);
  });

  it.skipIf(CHECK_VALUES_ABSENT)("smears a spread of wavelengths along y", () => {
    const { expected } = checkValues("gravity.pair");
    const path = { collimation: 4, distance: 12 };
    expect(relative((gravityDrop(path, 14) - gravityDrop(path, 2)) * 1000, expected.relative_shift_mm)).toBeLessThan(
      1e-8,
    );
    const sigma = gravitySmearing(path, 14, relativeWavelengthSigma(0.1)) * 1000;
    expect(relative(sigma, expected.sigma_y_mm_dl10pct_14A)).toBeLessThan(1e-8);
  });

  it("puts the 18 A spot below the 6 A spot, by the difference alone, in either row order", () => {
    // 20.3023192 - 2.25581325 mm at 10 + 10 m, ballistics; rows of 5 mm.
    for (const [rowOrder, sign] of [
      ["bottom-up", -1],
      ["top-down", 1],
    ] as const) {
      const geometry = someGeometry({ distance: 10, wavelength: 18, rowOrder });
      const moved = beamCentreAtWavelength(geometry, 10, 6);
      expect(moved?.x).toBe(geometry.beamCentre.x);
      expect((moved!.y - geometry.beamCentre.y) * 5).toBeCloseTo(sign * 18.046506, 5);
    }
  });

  it("leaves a centre alone that was measured at the same wavelength", () => {
    const geometry = someGeometry();
    expect(beamCentreAtWavelength(geometry, 8, 6)).toEqual(geometry.beamCentre);
  });
});
