import { expect, it } from "vitest";
import { coarserFrame, toCoarse, toFine } from "../../../core/beam/coarser-frame.ts";
import { boxSum, boxSums } from "../../../core/beam/count-frame.ts";
import { findOutliers } from "../../../core/beam/outliers.ts";

function frame(width: number, height: number) {
  const counts = Float64Array.from({ length: width * height }, (_, p) => p);
  return { width, height, counts, mask: new Uint16Array(width * height) };
}

it("a coarser frame sums its pixels, masks what holds a masked one, and drops the odd rim", () => {
  const fine = frame(5, 4);
  fine.mask[7] = 4;
  const coarse = coarserFrame(fine, 2);
  expect([coarse.width, coarse.height]).toEqual([2, 2]);
  // 0 + 1 + 5 + 6; the second holds the masked pixel (2, 1).
  expect(coarse.counts[0]).toBe(12);
  expect([...coarse.mask]).toEqual([0, 4, 0, 0]);
});

it("its coordinates go there and back", () => {
  // Coarse pixel 1 of factor 3 is the fine pixels 3, 4, 5: centre 4.
  expect(toFine(1, 3)).toBe(4);
  expect(toCoarse(toFine(2.3, 3), 3)).toBeCloseTo(2.3, 12);
});

it("box sums are the sums of the box, without masked pixels and what lies outside", () => {
  const some = frame(6, 5);
  some.mask[8] = 1;
  const sums = boxSums(some);
  // Rows 1 and 2, columns 1 to 3: 7 + 9 + 13 + 14 + 15, pixel 8 masked.
  expect(boxSum(sums.counts, sums, 1, 1, 4, 3)).toBe(58);
  expect(boxSum(sums.pixels, sums, 1, 1, 4, 3)).toBe(5);
  expect(boxSum(sums.pixels, sums, -9, -9, 99, 99)).toBe(29);
});

it("a dark line and a bright spot are outliers; the rest of their groups is not", () => {
  const expected = new Float64Array(20 * 20).fill(30);
  const flat = { ...frame(20, 20), counts: new Float64Array(400).fill(30) };
  for (let y = 0; y < 20; y++) flat.counts[y * 20 + 5] = 1;
  flat.counts[10 * 20 + 14] = 300;
  const { dark, bright } = findOutliers(flat, expected);
  expect(bright).toEqual([214]);
  expect(dark.every((p) => p % 20 === 5)).toBe(true);
  // All but the ends, which have no neighbour on one side.
  expect(dark.length).toBeGreaterThanOrEqual(18);
});
