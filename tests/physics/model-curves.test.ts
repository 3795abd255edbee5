import { describe, expect, it } from "vitest";
import { chainFormFactor } from "../../core/curves/chain.ts";
import { isotropicRodFormFactor, orientedRodFormFactor, rodFormFactor } from "../../core/curves/rod.ts";
import { coreShellIntensity, FIRST_ZERO_QR, sphereAmplitude, sphereIntensity } from "../../core/curves/sphere.ts";

const spheres = { radius: 50, volumeFraction: 0.01, contrast: 5e-6 };
const relative = (value: number, expected: number) => Math.abs(value / expected - 1);

// Expected numbers: closed forms of the textbooks evaluated with an arbitrary-precision library (rods and lognormal
// spheres by two quadratures that agree).
describe("sphere", () => {
  it.each([
    [1e-4, 13.0899039403],
    [0.01, 12.4493241373],
    [0.05, 3.26536987937],
  ])("scatters as Rayleigh's closed form at Q = %d 1/A", (q, expected) => {
    expect(relative(sphereIntensity(q, spheres), expected)).toBeLessThan(1e-9);
  });
  it("has its first zero where tan x = x", () => {
    expect(Math.abs(Math.tan(FIRST_ZERO_QR) - FIRST_ZERO_QR)).toBeLessThan(1e-9);
    expect(Math.abs(sphereAmplitude(FIRST_ZERO_QR))).toBeLessThan(1e-14);
  });
  it.each([
    [0.1, 0.998001713439],
    [1, 0.816323158569],
    [2, 0.426535250529],
    [3, 0.119492933842],
    [5.76345919689, 0.00742542300066],
  ])("has the form factor of Rayleigh's closed form at QR = %d", (x, expected) => {
    expect(relative(sphereAmplitude(x) ** 2, expected)).toBeLessThan(1e-9);
  });
  it("falls as Porod's law says of its surface, and has the invariant of its volume", () => {
    // 2 pi drho^2 S/V with S/V = 3 phi/R; 2 pi^2 phi drho^2 (dilute). Over whole periods the swings about the law cancel.
    const [radius, period] = [50, Math.PI / 50];
    const porod = 2 * Math.PI * 5e-6 ** 2 * (0.03 / radius) * 1e8;
    expect(relative(porod, 9.42477796077e-6)).toBeLessThan(1e-11);
    const [from, n] = [40 * period, 4000];
    let level = 0;
    for (let i = 0; i < n; i++) {
      const q = from + ((i + 0.5) / n) * 10 * period;
      level += (q ** 4 * sphereIntensity(q, spheres)) / n;
    }
    // What is left of the swings goes with 1/(QR)^2 = 6e-5.
    expect(relative(level, porod)).toBeLessThan(2e-4);
    let invariant = 0;
    const steps = 20_000;
    for (let i = 0; i < steps; i++) {
      const q = ((i + 0.5) / steps) * from;
      invariant += (q * q * sphereIntensity(q, spheres) * from) / steps;
    }
    expect(relative(invariant + porod / from, 0.000493480220054)).toBeLessThan(1e-4);
  });
  it("joins its series smoothly", () => {
    expect(relative(sphereAmplitude(0.01), sphereAmplitude(0.01 - 1e-12))).toBeLessThan(1e-11);
  });
  it.each([
    [1e-4, 14.9818653063],
    [0.05, 3.10568507616],
    [0.09, 0.0487828224675],
  ])("of lognormal radii scatters as two quadratures agree at Q = %d 1/A", (q, expected) => {
    expect(relative(sphereIntensity(q, { ...spheres, sigmaLnR: 0.1 }), expected)).toBeLessThan(1e-6);
  });
});

describe("core-shell sphere", () => {
  const model = { coreRadius: 40, shellThickness: 10, volumeFraction: 0.01, core: 1e-6, shell: 4e-6, medium: 6.3e-6 };
  it.each([
    [1e-4, 7.70466855838],
    [0.03, 5.18976442192],
    [0.08, 0.215348169624],
  ])("adds the amplitudes of core and whole at Q = %d 1/A", (q, expected) => {
    expect(relative(coreShellIntensity(q, model), expected)).toBeLessThan(1e-7);
  });
  it("with a shell of the medium is a sphere of the core alone, at the whole's volume fraction", () => {
    const bare = coreShellIntensity(0.05, { ...model, shell: model.medium });
    const fraction = 0.01 * (40 / 50) ** 3;
    expect(
      relative(bare, sphereIntensity(0.05, { radius: 40, volumeFraction: fraction, contrast: 5.3e-6 })),
    ).toBeLessThan(1e-9);
  });
});

describe("Gaussian chain", () => {
  it.each([
    [1e-6, 0.999999666667],
    [0.01, 0.996674983362],
    [0.1, 0.967483607192],
    [1, 0.735758882343],
    [10, 0.180000907999],
  ])("follows Debye's function at x = %d", (x, expected) => {
    expect(relative(chainFormFactor(x), expected)).toBeLessThan(1e-9);
  });
});

describe("rod", () => {
  const rod = { length: 400, radius: 20 };
  it.each([
    [0, 0.00295958969093],
    [30, 0.00599939538764],
    [60, 0.0304007808799],
    [90, 0.774578072058],
  ])("at %d degrees to Q", (alpha, expected) => {
    expect(relative(rodFormFactor(0.05, Math.cos((alpha * Math.PI) / 180), rod), expected)).toBeLessThan(1e-8);
  });
  it("averages over all directions", () => {
    expect(relative(isotropicRodFormFactor(0.05, rod), 0.11862827054)).toBeLessThan(1e-7);
  });
  it.each([
    [0, 0.0196234514688],
    [30, 0.0331550171034],
    [60, 0.112103709607],
    [90, 0.224430118438],
  ])("aligned with m = 4 along phi = 0, seen at phi = %d", (phi, expected) => {
    expect(relative(orientedRodFormFactor(0.05, Math.cos((phi * Math.PI) / 180), rod, 4), expected)).toBeLessThan(1e-6);
  });
  it("aligned with m = 0 is isotropic", () => {
    expect(relative(orientedRodFormFactor(0.05, 0.3, rod, 0), 0.11862827054)).toBeLessThan(1e-6);
  });
});
