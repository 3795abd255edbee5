import { expect, it } from "vitest";
import { decimals, ringValues, roundStep } from "../../../../renderer/frame/ring-values.ts";

it("takes round steps", () => {
  expect([0.011, 0.02, 0.021, 0.06, 3].map(roundStep)).toEqual([0.02, 0.02, 0.05, 0.1, 5]);
});

it("spaces rings evenly with room for labels, up to the largest Q", () => {
  expect(ringValues(0.11, 400)).toEqual([0.02, 0.04, 0.06, 0.08, 0.1]);
  expect(ringValues(0.11, 4000)).toEqual([0.02, 0.04, 0.06, 0.08, 0.1]);
  expect(ringValues(0.11, 90)).toEqual([0.1]);
});

it("writes values without rounding tails", () => {
  expect(ringValues(0.065, 700).map(String)).toEqual(["0.01", "0.02", "0.03", "0.04", "0.05", "0.06"]);
  expect([1, 0.5, 0.02, 0.001].map(decimals)).toEqual([0, 1, 2, 3]);
});

it("has none where nothing is in sight", () => {
  expect(ringValues(0, 100)).toEqual([]);
  expect(ringValues(Number.NaN, 100)).toEqual([]);
});
