import { describe, expect, it } from "vitest";
import { countLimits } from "../../../core/averaging/count-limits.ts";
import { reference } from "../../support/shared-data.ts";

/** Chance of at most n counts, summed term by term. */
function atMost(n: number, mean: number): number {
  let term = Math.exp(-mean);
  let sum = term;
  for (let k = 1; k <= n; k++) {
    term *= mean / k;
    sum += term;
  }
  return sum;
}

describe("limits of a mean from few counts", () => {
  it("leave the same chance on either side, by the sums of the Poisson law", () => {
    for (const n of [1, 3, 10, 100])
      for (const level of [0.6827, 0.95]) {
        const { lower, upper } = countLimits(n, level);
        expect(1 - atMost(n - 1, lower)).toBeCloseTo((1 - level) / 2, 9);
        expect(atMost(n, upper)).toBeCloseTo((1 - level) / 2, 9);
      }
  });

  it("of no count at all begin at 0 and end where e^-mu is the chance left", () => {
    expect(countLimits(0, 0.9)).toEqual({ lower: 0, upper: expect.closeTo(2.99573227355, 10) });
  });

  it.skipIf(reference("stat.garwood") === undefined)("agree with the tabulated ones", () => {
    // Chi-square quantiles, Garwood 1936.
    const { inputs, expected } = reference("stat.garwood")! as unknown as {
      readonly inputs: { readonly N: readonly number[]; readonly CL: number };
      readonly expected: { readonly lower: readonly number[]; readonly upper: readonly number[] };
    };
    const { lower, upper } = expected;
    for (const [i, n] of inputs.N.entries()) {
      const limits = countLimits(n, inputs.CL);
      expect(limits.lower).toBeCloseTo(lower[i]!, 8);
      expect(limits.upper).toBeCloseTo(upper[i]!, 8);
    }
  });

  it("refuse what is no count", () => {
    expect(() => countLimits(-1, 0.9)).toThrow(RangeError);
    expect(() => countLimits(1.5, 0.9)).toThrow(RangeError);
    expect(() => countLimits(1, 1)).toThrow(RangeError);
  });
});
