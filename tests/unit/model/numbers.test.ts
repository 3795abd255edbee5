import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  azimuthDegrees,
  decadeOf,
  nineDigits,
  orNull,
  readable,
  seventeenDigits,
  shortest,
  steadyFloor,
  withSigma,
} from "../../../core/model/numbers.ts";

describe("numbers in files", () => {
  it("read back as the same double, shortest and with 17 digits", () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        // -0 is written as 0: the two are equal numbers, and a sign on nothing says nothing.
        expect(Number(shortest(value)) + 0).toBe(value + 0);
        expect(Number(seventeenDigits(value)) + 0).toBe(value + 0);
      }),
      { seed: 1, numRuns: 500 },
    );
  });

  it("keep nine significant digits for single precision", () => {
    expect(nineDigits(0.1234567894321)).toBe("0.123456789");
    expect(nineDigits(1.5e-30)).toBe("1.5e-30");
    expect(() => nineDigits(Number.NaN)).toThrow(RangeError);
  });

  it("say not known rather than 0", () => {
    expect(shortest(Number.NaN)).toBe("");
    expect(seventeenDigits(Number.NaN)).toBe("nan");
    expect(orNull(Number.NaN)).toBeNull();
    expect(orNull(undefined)).toBeNull();
    expect(orNull(0)).toBe(0);
  });

  it("bring azimuths into 0 <= phi < 360", () => {
    expect(azimuthDegrees(Math.PI)).toBe(180);
    expect(azimuthDegrees(-Math.PI / 2)).toBeCloseTo(270, 12);
    fc.assert(
      fc.property(fc.double({ min: -7, max: 7, noNaN: true }), (phi) => {
        const degrees = azimuthDegrees(phi);
        expect(degrees >= 0 && degrees < 360).toBe(true);
      }),
      { seed: 2, numRuns: 500 },
    );
    expect(azimuthDegrees(-Number.MIN_VALUE)).toBeLessThan(360);
  });

  it("know their decade, at its very edge too", () => {
    // What an engine may make of 1000: one bit less.
    expect([1, 9.99, 10, 1000 * (1 - 2 ** -52), 0.001, 0.00099].map(decadeOf)).toEqual([0, 0, 1, 3, -3, -4]);
    expect([127.99999999999997, 127.9].map(steadyFloor)).toEqual([128, 127]);
  });

  it("show no more digits than sigma supports", () => {
    // Two significant digits of the standard uncertainty: common practice (GUM 7.2.6).
    expect(withSigma(63.21834, 0.0213)).toBe("63.218 ± 0.021");
    expect(withSigma(0.72, 0.004)).toBe("0.7200 ± 0.0040");
    expect(withSigma(1234.4, 56)).toBe("1234 ± 56");
    expect(withSigma(0.031234, undefined)).toBe("0.03123");
    expect(readable(0)).toBe("0");
    expect(readable(81234)).toBe("81234");
  });
});
