import { describe, expect, it } from "vitest";
import { type CommonFactor, commonRelativeSigma, commonSigma } from "../../../core/model/estimate.ts";

/** I = s/(T_S K) - c/(T_E K), whose derivatives the formula has to match. */
function intensity(values: readonly number[]): number {
  const [ts, te, k] = values as [number, number, number];
  return 8 / (ts * k) - 3 / (te * k);
}

describe("the uncertainty that all points share", () => {
  const values = [0.6, 0.9, 2];
  const relative = [0.004, 0.006, 0.01];
  const factors: CommonFactor[] = [
    { name: "transmission", value: 0.6, relativeSigma: 0.004, of: "sample" },
    { name: "transmission", value: 0.9, relativeSigma: 0.006, of: "emptyCell" },
    { name: "absolute", value: 2, relativeSigma: 0.01 },
  ];
  const parts = { net: intensity(values), cell: 3 / (0.9 * 2) };

  it("is what first-order propagation by numerical derivatives gives", () => {
    const variance = values.reduce((sum, value, i) => {
      const step = 1e-6 * value;
      const at = (change: number) => intensity(values.map((v, j) => (j === i ? v + change : v)));
      return sum + (((at(step) - at(-step)) / (2 * step)) * value * relative[i]!) ** 2;
    }, 0);
    expect(commonSigma(factors, parts)! / Math.sqrt(variance)).toBeCloseTo(1, 8);
  });

  it("has nothing of a measurement that cancels", () => {
    // All three measured with one empty beam and nothing else: T_S and T_E go with 1/N, K with N.
    const shared = factors.map((factor, i) => ({
      ...factor,
      relativeSigma: 0.02,
      shared: { measurement: "empty beam", relativeVariance: 0.0004, power: i === 2 ? (1 as const) : (-1 as const) },
    }));
    expect(commonSigma(shared, parts)).toBeLessThan(1e-9);
    const apart = shared.map((factor, i) => ({ ...factor, shared: { ...factor.shared, measurement: `beam ${i}` } }));
    expect(commonSigma(apart, parts)).toBeGreaterThan(0.02 * parts.net);
  });

  it("is not known where no factor's is, and leaves the cell's out where none is taken off", () => {
    expect(commonSigma([{ name: "thickness", value: 1 }], parts)).toBeUndefined();
    expect(commonRelativeSigma(factors)).toBeCloseTo(Math.hypot(0.004, 0.01), 14);
  });
});
