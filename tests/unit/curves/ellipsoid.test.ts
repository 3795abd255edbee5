import { describe, expect, it } from "vitest";
import { ellipsoidFormFactor, isotropicEllipsoidFormFactor } from "../../../core/curves/ellipsoid.ts";
import { sphereAmplitude } from "../../../core/curves/sphere.ts";

describe("form factor of an ellipsoid of revolution", () => {
  it("is a sphere's where both radii are equal, in every direction", () => {
    for (const q of [0, 0.01, 0.05, 0.2])
      for (const cosAlpha of [0, 0.3, 1]) {
        const found = ellipsoidFormFactor(q, cosAlpha, { polarRadius: 60, equatorialRadius: 60 });
        expect(Math.abs(found - sphereAmplitude(60 * q) ** 2)).toBeLessThan(1e-14);
      }
  });

  it("is the transform of the solid body: a direct sum over its volume", () => {
    // Slices across Q of a prolate body with Q along its axis: P = |integral of pi b^2 (1 - z^2/a^2) cos(q z)/V|^2.
    const [a, b, q] = [90, 30, 0.045];
    const n = 20_000;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const z = -a + (2 * a * (i + 0.5)) / n;
      sum += (1 - (z * z) / (a * a)) * Math.cos(q * z) * ((2 * a) / n);
    }
    const expected = ((Math.PI * b * b * sum) / ((4 / 3) * Math.PI * a * b * b)) ** 2;
    const found = ellipsoidFormFactor(q, 1, { polarRadius: a, equatorialRadius: b });
    expect(Math.abs(found / expected - 1)).toBeLessThan(1e-6);
  });

  it("has Guinier's radius (2 b^2 + a^2)/5 when averaged over all directions", () => {
    const [a, b, q] = [90, 30, 1e-3];
    const found = isotropicEllipsoidFormFactor(q, { polarRadius: a, equatorialRadius: b });
    // P = 1 - q^2 Rg^2/3 + O(q^4): the next term is below 1e-5 here.
    expect(Math.abs((3 * (1 - found)) / (q * q) / ((2 * b * b + a * a) / 5) - 1)).toBeLessThan(2e-3);
  });

  it("averages over directions by a converged quadrature", () => {
    const shape = { polarRadius: 200, equatorialRadius: 20 };
    for (const q of [0.01, 0.1])
      expect(
        Math.abs(isotropicEllipsoidFormFactor(q, shape, 1000) / isotropicEllipsoidFormFactor(q, shape, 4000) - 1),
      ).toBeLessThan(1e-8);
  });
});
