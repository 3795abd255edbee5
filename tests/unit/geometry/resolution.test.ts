import { describe, expect, it } from "vitest";
import { qResolution, relativeWavelengthSigma } from "../../../core/geometry/resolution.ts";
import type { Collimation } from "../../../core/model/geometry.ts";
import { someGeometry } from "../averaging/frames.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";

const PINHOLES: Collimation = { sourceAperture: 0.02, sampleAperture: 0.01, length: 8, wavelengthSpread: 0.1 };

describe("qResolution", () => {
  it.skipIf(CHECK_VALUES_ABSENT)("turns a full width at half maximum into a standard deviation", () => {
    const { inputs, expected } = checkValues("res.factors");
    const width = inputs.FWHM;
    expect(relative(relativeWavelengthSigma(width, "gaussian"), expected.gaussian)).toBeLessThan(1e-10);
    expect(relative(relativeWavelengthSigma(width), expected.triangular)).toBeLessThan(1e-10);
    expect(relative(relativeWavelengthSigma(width, "rectangular"), expected.rectangular_full_width)).toBeLessThan(
      1e-10,
    );
  });

  it.skipIf(CHECK_VALUES_ABSENT).each(["res.pinhole.Q0.005", "res.pinhole.Q0.02", "res.pinhole.Q0.1"])(
    "gives %s",
    (id) => {
      const { inputs, expected } = checkValues(id);
      const geometry = someGeometry({ distance: 8 });
      const resolution = qResolution(geometry, PINHOLES, { form: "small-angle" });
      if (!resolution.ok) throw new Error(resolution.fault.message);
      const sigma = Math.sqrt(resolution.value.variance(inputs.Q_invA));
      expect(relative(sigma, expected.sigma_Q)).toBeLessThan(1e-9);
    },
  );

  it.skipIf(CHECK_VALUES_ABSENT)("narrows at wide angles", () => {
    const { inputs, expected } = checkValues("res.wide");
    const geometry = someGeometry({ distance: inputs.L2_m });
    const collimation = { ...PINHOLES, length: inputs.L1_m, wavelengthSpread: inputs.dl_FWHM };
    const wide = qResolution(geometry, collimation);
    const small = qResolution(geometry, collimation, { form: "small-angle" });
    if (!wide.ok || !small.ok) throw new Error("the resolution is known");
    expect(relative(Math.sqrt(wide.value.variance(0.35)), expected.sigma_Q_wide)).toBeLessThan(1e-9);
    expect(relative(Math.sqrt(small.value.variance(0.35)), expected.sigma_Q_smallangle)).toBeLessThan(1e-9);
  });

  it("says what is not known, and never calls it 0", () => {
    const { sourceAperture: _, wavelengthSpread: __, ...rest } = PINHOLES;
    const answer = qResolution(someGeometry(), rest);
    expect(answer.ok).toBe(false);
    if (!answer.ok) {
      expect(answer.fault.code).toBe("missing");
      expect(answer.fault.message).toContain("source aperture, wavelength spread");
    }
  });

  it.each([{ sourceAperture: 0 }, { sampleAperture: Number.NaN }, { length: -8 }])("refuses %o", (wrong) => {
    expect(qResolution(someGeometry(), { ...PINHOLES, ...wrong })).toMatchObject({ ok: false });
  });
});
