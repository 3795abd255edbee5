import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Geometry } from "../../../../core/model/geometry.ts";
import {
  bankOptics,
  directionOfPhi,
  opticsAt,
  pointOfDirection,
  qLine,
  twoThetaOfQ,
} from "../../../../renderer/frame/bank-optics.ts";

const GEOMETRY: Geometry = {
  width: 192,
  height: 192,
  rowOrder: "bottom-up",
  transpose: false,
  pixelSizeX: 0.005,
  pixelSizeY: 0.005,
  distance: 4,
  wavelength: 6,
  beamCentre: { x: 95.5, y: 95.5 },
  tilt: [0, 0],
};

const geometries = fc.record({
  width: fc.constant(192),
  height: fc.constant(128),
  rowOrder: fc.constantFrom("bottom-up" as const, "top-down" as const),
  transpose: fc.boolean(),
  pixelSizeX: fc.double({ min: 1e-3, max: 1e-2, noNaN: true }),
  pixelSizeY: fc.double({ min: 1e-3, max: 1e-2, noNaN: true }),
  distance: fc.double({ min: 1, max: 20, noNaN: true }),
  wavelength: fc.double({ min: 2, max: 15, noNaN: true }),
  beamCentre: fc.constant({ x: 70.25, y: 61.5 }),
  tilt: fc.tuple(fc.double({ min: -0.6, max: 0.6, noNaN: true }), fc.double({ min: -0.6, max: 0.6, noNaN: true })),
});

describe("opticsAt", () => {
  // Worked by hand: x = 23.5 px = 0.1175 m, y = -18.5 px = -0.0925 m; rho = 0.149541 m, 2 theta = atan(rho / 4);
  // Q = 4 pi / 6 sin(theta).
  it("agrees with a hand calculation", () => {
    const { q, phi, twoTheta } = opticsAt(bankOptics(GEOMETRY), { x: 119, y: 77 });
    const rho = Math.hypot(0.1175, 0.0925);
    expect(twoTheta).toBeCloseTo(Math.atan(rho / 4), 12);
    expect(q).toBeCloseTo(((4 * Math.PI) / 6) * Math.sin(Math.atan(rho / 4) / 2), 12);
    expect((phi * 180) / Math.PI).toBeCloseTo(360 - 38.2110254, 6);
  });
});

describe("pointOfDirection", () => {
  it("finds the point from which the direction came, however the bank stands", () => {
    fc.assert(
      fc.property(geometries, fc.integer({ min: 0, max: 191 }), fc.integer({ min: 0, max: 127 }), (geometry, x, y) => {
        const optics = bankOptics(geometry);
        const { twoTheta, phi } = opticsAt(optics, { x, y });
        const back = pointOfDirection(optics, twoTheta, phi)!;
        expect(Math.hypot(back.x - x, back.y - y)).toBeLessThan(1e-6);
      }),
    );
  });

  it("finds nothing behind the sample", () => {
    expect(pointOfDirection(bankOptics(GEOMETRY), Math.PI, 0)).toBeUndefined();
  });
});

it("draws lines along which Q is the same", () => {
  fc.assert(
    fc.property(geometries, fc.double({ min: 0.005, max: 0.05, noNaN: true }), (geometry, q) => {
      const optics = bankOptics(geometry);
      for (const point of qLine(optics, q, 24)) expect(opticsAt(optics, point).q / q).toBeCloseTo(1, 9);
    }),
  );
  expect(twoThetaOfQ(bankOptics(GEOMETRY), 100)).toBeNaN();
  expect(qLine(bankOptics(GEOMETRY), 100, 24)).toEqual([]);
});

it("runs straight from the beam centre along phi, however the bank stands", () => {
  fc.assert(
    fc.property(geometries, fc.double({ min: 0, max: 6.28, noNaN: true }), (geometry, phi) => {
      const optics = bankOptics(geometry);
      const { x, y } = directionOfPhi(optics, phi);
      for (const far of [5, 50]) {
        const there = opticsAt(optics, { x: geometry.beamCentre.x + far * x, y: geometry.beamCentre.y + far * y });
        expect(Math.cos(there.phi - phi)).toBeCloseTo(1, 9);
      }
    }),
  );
});
