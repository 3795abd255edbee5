import { describe, expect, it } from "vitest";
import { cadmiumAbsorption, cadmiumTransmission } from "../../../core/beam/cadmium.ts";
import {
  globalChance,
  liMaSignificance,
  poissonTail,
  sigmaOfChance,
  uncertainPoissonTail,
} from "../../../core/beam/significance.ts";
import { poissonSource } from "../../support/random.ts";

describe("an excess over a known expectation", () => {
  // Sums of the Poisson distribution's tail give the same.
  it.each([
    [12, 4, 0.00091522914727, 3.11644498788],
    [25, 10, 4.69493814268e-5, 3.90583965573],
    [3, 0.5, 0.014387677967, 2.18655047744],
  ])("of %d counts over %d", (n, b, chance, sigmas) => {
    expect(Math.abs(poissonTail(n, b) / chance - 1)).toBeLessThan(1e-7);
    expect(Math.abs(sigmaOfChance(chance) / sigmas - 1)).toBeLessThan(1e-7);
  });

  it("has chance 1 for no counts", () => {
    expect(poissonTail(0, 5)).toBe(1);
  });
});

describe("an excess over a counted control region", () => {
  // 30 on, 60 off, alpha 0.25: Li & Ma 1983 eq. 17, and the binomial tail as a second way.
  it("agrees with Li and Ma, and with the binomial test", () => {
    expect(liMaSignificance(30, 60, 0.25)).toBeCloseTo(2.96157907385, 7);
    // b = 15 with sigma = alpha sqrt(60).
    expect(uncertainPoissonTail(30, 15, 0.25 * Math.sqrt(60))).toBeCloseTo(0.00207368369358, 9);
  });

  it("is the known-expectation test where the uncertainty vanishes", () => {
    expect(uncertainPoissonTail(25, 10, 1e-4)).toBeCloseTo(4.69493814268e-5, 9);
  });

  it("does not claim more than its chance: 2000 draws without an excess", () => {
    const draw = poissonSource(9);
    let below = 0;
    for (let k = 0; k < 2000; k++) {
      const off = draw(80);
      if (uncertainPoissonTail(draw(20), off / 4, Math.sqrt(off) / 4) < 0.05) below++;
    }
    // 100 expected at most, scatter 10.
    expect(below).toBeLessThan(135);
  });
});

it("many tests share one chance: 1e-6 over 36864 pixels", () => {
  expect(Math.abs(globalChance(1e-6, 36_864) / 0.036192813549 - 1)).toBeLessThan(1e-9);
  expect(globalChance(1e-300, 24)).toBeCloseTo(24e-300, 305);
});

describe("cadmium", () => {
  // 8.65 g/cm^3, 2520 b at 2200 m/s (Sears 1992), the 113Cd level at 0.178 eV of width 0.114 eV (from memory).
  it.each([
    [1.8, 116.826504823, 8.43896841686e-6],
    [4, 208.247089107, 9.03532612591e-10],
    [6, 303.307611031, 6.72229893045e-14],
    [10, 498.02340394, 2.35027337658e-22],
  ])("at %d angstrom", (wavelength, absorption, transmission) => {
    expect(Math.abs(cadmiumAbsorption(wavelength) / absorption - 1)).toBeLessThan(1e-5);
    expect(Math.abs(cadmiumTransmission(wavelength, 1e-3) / transmission - 1)).toBeLessThan(1e-4);
  });
});
