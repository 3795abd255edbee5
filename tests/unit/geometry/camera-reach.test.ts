import { describe, expect, it } from "vitest";
import { type CameraSetting, cameraReach } from "../../../core/geometry/camera-reach.ts";
import { seamsOf } from "../../../core/geometry/reach-seams.ts";
import type { Geometry } from "../../../core/model/geometry.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";

const bank: Geometry = {
  width: 128,
  height: 96,
  pixelSizeX: 0.005,
  pixelSizeY: 0.006,
  distance: 4,
  wavelength: 6,
  beamCentre: { x: 60.5, y: 40 },
  tilt: [0, 0],
  rowOrder: "bottom-up",
  transpose: false,
};
const pinholes = { sourceAperture: 0.01, sampleAperture: 0.004, length: 4, wavelengthSpread: 0.1 };

function setting(geometry: Partial<Geometry> = {}, change: Partial<CameraSetting> = {}): CameraSetting {
  return { geometry: { ...bank, ...geometry }, collimation: pinholes, stopRadius: 0.03, ...change };
}

describe("cameraReach", () => {
  it("gives the numbers of a case worked with sines and tangents", () => {
    // Q = (4 pi / 6) sin(atan(r / 4) / 2) with r = 30 mm (stop), 243 mm (lower edge: 40.5 pixels of 6 mm) and
    // hypot(67 x 5, 55.5 x 6) mm (farthest corner); sigma from the second moments with theta = asin(Q / 2k); Q = 2.3548
    // sigma(Q) by bisection. Worked apart from this code in double precision.
    const reach = cameraReach(setting());
    expect(relative(reach.qStop, 0.007853815970067613)).toBeLessThan(1e-12);
    expect(relative(reach.qEdge ?? 0, 0.06352941671364552)).toBeLessThan(1e-12);
    expect(relative(reach.qCorner, 0.12301990787412813)).toBeLessThan(1e-12);
    expect(relative(reach.qResolved ?? 0, 0.002215160418032534)).toBeLessThan(1e-12);
    expect(relative(reach.sigmaAtMin ?? 0, 0.0009896886930489104)).toBeLessThan(1e-12);
    expect(relative(reach.sigmaAtEdge ?? 0, 0.0027568607538495785)).toBeLessThan(1e-12);
    expect(relative(reach.sigmaAtCorner ?? 0, 0.005107678375489524)).toBeLessThan(1e-12);
    expect(reach).toMatchObject({ qMin: reach.qStop, limit: "stop", qNearest: 0 });
  });

  it.skipIf(CHECK_VALUES_ABSENT).each(["qrange.L2.lam6", "qrange.L8.lam6", "qrange.L12.lam12"])("gives %s", (id) => {
    const { inputs, expected } = checkValues(id);
    const square = { width: 200, height: 200, pixelSizeX: 0.005, pixelSizeY: 0.005, beamCentre: { x: 99.5, y: 99.5 } };
    const reach = cameraReach({
      geometry: { ...bank, ...square, distance: inputs.L_m, wavelength: inputs.lambda_A },
      collimation: {},
      stopRadius: inputs.beamstop_radius_m,
    });
    expect(relative(reach.qMin, expected.Qmin)).toBeLessThan(1e-9);
    expect(relative(reach.qEdge ?? 0, expected.Qedge)).toBeLessThan(1e-9);
    expect(relative(reach.qCorner, expected.Qcorner)).toBeLessThan(1e-9);
  });

  it("lets the resolution decide where the stop is smaller than what can be resolved", () => {
    const reach = cameraReach(setting({}, { stopRadius: 0.005 }));
    expect(reach).toMatchObject({ qMin: reach.qResolved, limit: "resolution" });
    // At its own limit Q is one full width at half maximum: 2 sqrt(2 ln 2) standard deviations of a Gaussian.
    expect(relative(reach.qMin / (reach.sigmaAtMin ?? 0), 2 * Math.sqrt(2 * Math.LN2))).toBeLessThan(1e-12);
  });

  it("begins at the bank where the beam passes beside it", () => {
    const reach = cameraReach(setting({ beamCentre: { x: -30.5, y: 40 } }));
    // 30 pixels of 5 mm lie between the beam and the border of the bank.
    const nearest = ((4 * Math.PI) / 6) * Math.sin(Math.atan(0.15 / 4) / 2);
    expect(relative(reach.qNearest, nearest)).toBeLessThan(1e-12);
    expect(reach).toMatchObject({ qMin: reach.qNearest, limit: "bank", qEdge: undefined });
  });

  it("says nothing of the resolution where the apertures aren't known", () => {
    const reach = cameraReach(setting({}, { collimation: { wavelengthSpread: 0.1 } }));
    expect(reach).toMatchObject({ qResolved: undefined, sigmaAtMin: undefined, sigmaAtEdge: undefined, limit: "stop" });
  });

  it("resolves nothing where the wavelengths are spread too far", () => {
    // 2.3548 x 1.2 / sqrt(6) > 1: at no Q is Q larger than its full width.
    const reach = cameraReach(setting({}, { collimation: { ...pinholes, wavelengthSpread: 1.2 } }));
    expect(reach.qResolved).toBeUndefined();
    expect(reach.sigmaAtMin).toBeGreaterThan(0);
  });

  it.each([
    [setting({ distance: Number.NaN }), "distance"],
    [setting({ wavelength: 0 }), "wavelength"],
    [setting({}, { stopRadius: -0.01 }), "stop's radius"],
    [setting({ tilt: [0.1, 0] }), "square to the beam"],
  ])("refuses nonsense: %#", (wrong, words) => {
    expect(() => cameraReach(wrong)).toThrow(words);
  });
});

describe("seamsOf", () => {
  it("finds overlaps and gaps whatever the order of the list", () => {
    const spans = [
      { low: 0.02, high: 0.1 },
      { low: 0.004, high: 0.03 },
      { low: 0.2, high: 0.5 },
    ];
    expect(seamsOf(spans)).toEqual([
      { below: 1, above: 0, kind: "overlap", low: 0.02, high: 0.03 },
      { below: 0, above: 2, kind: "gap", low: 0.1, high: 0.2 },
    ]);
  });

  it("measures a gap from the span that reaches farthest, not from the one before", () => {
    const spans = [
      { low: 1, high: 10 },
      { low: 2, high: 3 },
      { low: 12, high: 15 },
    ];
    expect(seamsOf(spans)).toEqual([
      { below: 0, above: 1, kind: "overlap", low: 2, high: 3 },
      { below: 0, above: 2, kind: "gap", low: 10, high: 12 },
    ]);
  });

  it("has nothing to say of one span or none", () => {
    expect(seamsOf([])).toEqual([]);
    expect(seamsOf([{ low: 1, high: 2 }])).toEqual([]);
  });
});
