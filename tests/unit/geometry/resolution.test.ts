import { describe, expect, it } from "vitest";
import { waveNumber } from "../../../core/geometry/constants.ts";
import { fullWidths } from "../../../core/geometry/full-widths.ts";
import { qResolution } from "../../../core/geometry/resolution.ts";
import { relativeWavelengthSigma, timedWavelengthSigma } from "../../../core/geometry/wavelength-spread.ts";
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

  it("takes full widths at half maximum where asked, and says nothing of second moments then", () => {
    // r1 = 10, r2 = 5 mm, 8 + 8 m: 2 r1/L - (r2^2/2 r1) 4/L = 1.875 mrad, over 2.3548; second moments give 0.883883 mrad.
    const apertures = { source: 0.01, sample: 0.005, length: 8 };
    expect(relative(fullWidths(apertures, 8), 0.001875)).toBeLessThan(1e-12);
    const geometry = someGeometry({ distance: 8, pixelSizeX: 1e-9, pixelSizeY: 1e-9 });
    const sharp = { ...PINHOLES, wavelengthSpread: 0 };
    const sigma = (method: "full-widths" | "second-moments") => {
      const found = qResolution(geometry, sharp, { method });
      if (!found.ok) throw new Error(found.fault.message);
      return Math.sqrt(found.value.variance(0)) / waveNumber(geometry.wavelength);
    };
    expect(relative(sigma("full-widths"), 0.00079623918777)).toBeLessThan(1e-9);
    expect(relative(sigma("second-moments"), 0.000883883476483)).toBeLessThan(1e-9);
    // Where the sample's aperture looks the larger, the two change their parts; both cases meet where they look alike.
    expect(fullWidths({ source: 0.001, sample: 0.005, length: 8 }, 8)).toBeCloseTo(0.0025 - 0.0001 / 16, 12);
    const [below, above] = [0.0049999999, 0.0050000001].map((sample) =>
      fullWidths({ source: 0.01, sample, length: 8 }, 8),
    );
    expect(relative(below!, above!)).toBeLessThan(1e-7);
    const [less, more] = [0.99999999, 1.00000001].map((f) =>
      fullWidths({ source: 0.01 * f, sample: 0.005, length: 8 }, 8),
    );
    expect(relative(less!, more!)).toBeLessThan(1e-7);
    // Every width as a Gaussian's: pixel 5 mm at 8 m and 10 % of wavelength at 0.05 1/A.
    const full = qResolution(someGeometry({ distance: 8 }), PINHOLES, { method: "full-widths", form: "small-angle" });
    if (!full.ok) throw new Error(full.fault.message);
    const k = waveNumber(someGeometry({}).wavelength);
    const byHand = Math.hypot(k * 0.001875, k * (0.005 / 8), 0.05 * 0.1) / 2.3548200450309493;
    expect(relative(Math.sqrt(full.value.variance(0.05)), byHand)).toBeLessThan(1e-12);
  });

  it("knows a wavelength by its time of flight", () => {
    // 24 m, 6 A: 100 us, channels of 1 %, path known to 10 mm: 0.0164835, 0.0173205 and 0.0025 A in quadrature.
    const timing = { path: 24, pathSigma: 0.01, emissionSigma: 1e-4, channelWidth: 0.01 };
    expect(relative(timedWavelengthSigma(6, timing), 0.00400678227001)).toBeLessThan(2e-9);
    expect(relative(timedWavelengthSigma(6, { path: 24, emissionSigma: 1e-4 }) * 6, 0.0164834750503)).toBeLessThan(
      2e-9,
    );
    // Only the emission time counts less for slower neutrons.
    expect(relative(timedWavelengthSigma(12, { path: 24, emissionSigma: 1e-4 }) * 12, 0.0164834750503)).toBeLessThan(
      2e-9,
    );
    const { wavelengthSpread: _, ...apertures } = PINHOLES;
    const found = qResolution(someGeometry(), apertures, { wavelengthSigma: 0.004 });
    expect(found.ok && found.value.relativeWavelengthSigma).toBe(0.004);
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
