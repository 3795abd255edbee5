import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { BankPlane, LabVector } from "../../../core/geometry/bank-plane.ts";
import {
  azimuthMap,
  cosTwoThetaMap,
  phiAt,
  phiOfPosition,
  qAt,
  qMap,
  qMapOfPlane,
  qOfPosition,
  qVectorOfPosition,
  qxMap,
  qyMap,
  twoThetaMap,
  twoThetaOfPosition,
} from "../../../core/geometry/maps.ts";
import { planePosition } from "../../../core/geometry/pixel-position.ts";
import { pixelSolidAngle } from "../../../core/geometry/solid-angle.ts";
import { someGeometry } from "../averaging/frames.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";
import { anyGeometry } from "./geometries.ts";

const DEGREE = Math.PI / 180;

describe.skipIf(CHECK_VALUES_ABSENT)("published geometry", () => {
  it("gives angles and Q of a point on a bank square to the beam", () => {
    const { inputs, expected } = checkValues("geom.flat.1");
    const position: LabVector = [inputs.x_m, inputs.y_m, inputs.L_m];
    const wavelength = inputs.lambda_A;
    expect(relative(twoThetaOfPosition(position), expected.twoTheta_rad)).toBeLessThan(1e-11);
    expect(relative(qOfPosition(position, wavelength), expected.Q_invA)).toBeLessThan(1e-11);
    // The table gives atan2 as it comes, -180 to 180 degrees.
    expect(relative(phiOfPosition(position), expected.phi_deg * DEGREE + 2 * Math.PI)).toBeLessThan(1e-11);
    const [qx, qy, qz] = qVectorOfPosition(position, wavelength);
    expect(relative(qx, expected.Qx)).toBeLessThan(1e-11);
    expect(relative(qy, expected.Qy)).toBeLessThan(1e-11);
    expect(relative(qz, expected.Qz)).toBeLessThan(1e-11);
  });

  it.each([
    ["geom.index.rowBottom", "bottom-up"],
    ["geom.index.rowTop", "top-down"],
  ] as const)("puts the pixel of %s where it belongs", (id, rowOrder) => {
    const { inputs, expected } = checkValues(id);
    const [x, y] = [inputs.col, inputs.row];
    const geometry = someGeometry({ width: 192, height: 192, distance: 4, beamCentre: { x: 95.5, y: 95.5 }, rowOrder });
    const p = y * 192 + x;
    const phi = (expected.phi_deg + 360) % 360;
    for (const q of [qAt(geometry, x, y), qMap(geometry)[p]!]) expect(relative(q, expected.Q_invA)).toBeLessThan(1e-9);
    for (const angle of [phiAt(geometry, x, y), azimuthMap(geometry)[p]!])
      expect(relative(angle / DEGREE, phi)).toBeLessThan(1e-9);
    expect(relative(qxMap(geometry)[p]!, expected.Qx)).toBeLessThan(1e-9);
    expect(relative(qyMap(geometry)[p]!, expected.Qy)).toBeLessThan(1e-9);
  });

  it("never takes the small-angle limit", () => {
    const { inputs, expected } = checkValues<{ twoTheta_deg: number[] }, { relError_kr_over_L: number[] }>(
      "geom.smallAngleError",
    );
    inputs.twoTheta_deg.forEach((degrees, i) => {
      const rho = Math.tan(degrees * DEGREE);
      const q = qOfPosition([rho, 0, 1], 6);
      const smallAngle = ((2 * Math.PI) / 6) * rho;
      expect(relative(smallAngle / q - 1, expected.relError_kr_over_L[i]!)).toBeLessThan(1e-6);
    });
  });

  it("reproduces a bank with a reference pixel and three rotations", () => {
    const { expected } = checkValues<
      unknown,
      Record<"twoTheta_deg" | "Q_invA" | "dOmega_sr", number> & Record<"fast_m" | "slow_m" | "P_m" | "Qvec", number[]>
    >("geom.general.tilted");
    const plane: BankPlane = {
      ...{ width: 200, height: 200, x: 50, y: 60, point: [0.8, 0.05, 2] },
      column: [expected.fast_m[0]!, expected.fast_m[1]!, expected.fast_m[2]!],
      row: [expected.slow_m[0]!, expected.slow_m[1]!, expected.slow_m[2]!],
    };
    const position = planePosition(plane, 110, 20);
    for (const [i, value] of position.entries()) expect(relative(value, expected.P_m[i]!)).toBeLessThan(1e-8);
    for (const [i, value] of qVectorOfPosition(position, 6).entries())
      expect(relative(value, expected.Qvec[i]!)).toBeLessThan(1e-8);
    expect(relative(twoThetaOfPosition(position) / DEGREE, expected.twoTheta_deg)).toBeLessThan(1e-8);
    expect(relative(qMapOfPlane(plane, 6)[20 * 200 + 110]!, expected.Q_invA)).toBeLessThan(1e-8);
    expect(relative(pixelSolidAngle(plane, 110, 20), expected.dOmega_sr)).toBeLessThan(1e-8);
  });
});

describe("maps", () => {
  it("agree with one another on any bank", () => {
    fc.assert(
      fc.property(anyGeometry(true), (geometry) => {
        const q = qMap(geometry);
        const [qx, qy, phi, cosine] = [
          qxMap(geometry),
          qyMap(geometry),
          azimuthMap(geometry),
          cosTwoThetaMap(geometry),
        ];
        const twoTheta = twoThetaMap(geometry);
        const k = (2 * Math.PI) / geometry.wavelength;
        for (let p = 0; p < q.length; p++) {
          const sine = Math.sin(twoTheta[p]! / 2);
          expect(Math.abs(q[p]! - 2 * k * sine)).toBeLessThan(1e-14 * k);
          // sqrt(Qx^2 + Qy^2) = Q cos(theta), not Q.
          expect(Math.abs(Math.hypot(qx[p]!, qy[p]!) - q[p]! * Math.cos(twoTheta[p]! / 2))).toBeLessThan(1e-14 * k);
          expect(Math.abs(cosine[p]! - Math.cos(twoTheta[p]!))).toBeLessThan(1e-14);
          expect(phi[p]! >= 0 && phi[p]! < 2 * Math.PI).toBe(true);
        }
      }),
      { seed: 3, numRuns: 60 },
    );
  });

  it("see the same Q for pixels that mirror each other in the beam centre, to the last bit", () => {
    const geometry = someGeometry({ width: 20, height: 20, beamCentre: { x: 9.5, y: 9.5 } });
    const q = qMap(geometry);
    for (let p = 0; p < q.length; p++) expect(q[q.length - 1 - p]).toBe(q[p]);
  });

  it("give 0 on the beam and along +x, never a full turn", () => {
    const geometry = someGeometry({ width: 5, height: 5, beamCentre: { x: 2, y: 2 }, rowOrder: "top-down" });
    const phi = azimuthMap(geometry);
    expect(Object.is(phi[12], 0)).toBe(true);
    expect(Object.is(phi[13], 0)).toBe(true);
    expect(phi[11]).toBeCloseTo(Math.PI, 15);
    expect(phiOfPosition([1, -1e-300, 1])).toBe(0);
  });

  it("fill what they are given and refuse another length", () => {
    const geometry = someGeometry();
    const out = new Float64Array(32 * 24);
    expect(qMap(geometry, out)).toBe(out);
    expect(() => qMap(geometry, new Float64Array(3))).toThrow("3 entries");
  });
});
