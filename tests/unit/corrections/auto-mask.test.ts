import { expect, it } from "vitest";
import { autoMask } from "../../../core/corrections/auto-mask.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { poissonSource } from "../../support/random.ts";
import { REAL_FRAME, realFrame } from "../../support/real-frame.ts";
import { hasShared } from "../../support/shared-data.ts";

const SIDE = 96;
const none = new Uint16Array(SIDE * SIDE);

function draw(expected: (x: number, y: number) => number, seed: number): Float64Array {
  const poisson = poissonSource(seed);
  return Float64Array.from({ length: SIDE * SIDE }, (_, p) => poisson(expected(p % SIDE, Math.floor(p / SIDE))));
}

const masked = (counts: Float64Array) => autoMask({ width: SIDE, height: SIDE, counts, mask: none }, ["hot", "dead"]);

// 20 frames at a chance of 0.01 each for hot and for dead: two false frames or more come in 6 % of such tests; the
// test allows two, which leaves 0.7 %.
it.each([0.02, 0.3, 1, 3, 20, 500])("calls hardly any frame of %d counts a pixel hot or dead", (mean) => {
  let frames = 0;
  for (let seed = 1; seed <= 20; seed++) {
    const { hot, dead } = masked(draw(() => mean, seed));
    if (hot + dead > 0) frames++;
  }
  expect(frames).toBeLessThanOrEqual(2);
});

it.each([
  ["a steep halo", (x: number, y: number) => 5000 * Math.exp(-((x - 47.3) ** 2 + (y - 50.8) ** 2) / 50) + 0.3],
  ["a streak across", (x: number, y: number) => 300 * Math.exp(-((x - 47) ** 2) / 1800 - (y - 50) ** 2 / 32) + 0.02],
  ["a spot of 0.9 px", (x: number, y: number) => 4000 * Math.exp(-((x - 47.3) ** 2 + (y - 50.1) ** 2) / 1.62) + 0.3],
])("leaves %s alone", (_, expected) => {
  for (let seed = 1; seed <= 10; seed++) expect(masked(draw(expected, seed))).toMatchObject({ hot: 0, dead: 0 });
});

it("finds a hot pixel in an empty frame, a pair beside each other, and a dead one where counts allow", () => {
  const counts = draw(() => 0.05, 3);
  counts[1000] = 25;
  counts[5000] = 40;
  counts[5001] = 40;
  const { mask, hot } = masked(counts);
  expect(hot).toBe(3);
  expect([1000, 5000, 5001].map((p) => mask[p])).toEqual([4, 4, 4]);
  const bright = draw(() => 60, 4);
  bright[3000] = 0;
  bright[7000] = 0;
  bright[7001] = 0;
  bright[2000] = 4;
  const found = masked(bright);
  expect([2000, 3000, 7000, 7001].map((p) => found.mask[p])).toEqual(Array(4).fill(MASK_REASONS.dead));
  expect(found.dead).toBe(4);
});

it("says that a dead pixel cannot be told from chance at few counts", () => {
  const counts = draw(() => 2, 5);
  counts[4000] = 0;
  const { dead, reasons } = masked(counts);
  expect(dead).toBe(0);
  expect(reasons.join(" ")).toContain("cannot be told from chance");
});

it("neither judges nor uses pixels that are masked already", () => {
  const counts = draw(() => 5, 6);
  counts[3000] = 1e9;
  const mask = none.slice();
  mask[3000] = MASK_REASONS.file;
  expect(autoMask({ width: SIDE, height: SIDE, counts, mask }, ["hot", "dead"])).toMatchObject({ hot: 0, dead: 0 });
});

it.skipIf(!hasShared(REAL_FRAME))(
  "finds dead pixels of the real frame in its corners only, and no hot one",
  async () => {
    const frame = await realFrame();
    const { mask, hot, dead } = autoMask({ ...frame, mask: new Uint16Array(128 * 128) }, ["hot", "dead"]);
    expect(hot).toBe(0);
    // 19 pixels in the corners have no count; three of them are alone or next to weak ones and stay undecided.
    expect(dead).toBeGreaterThanOrEqual(15);
    expect(dead).toBeLessThanOrEqual(19);
    for (let p = 0; p < mask.length; p++) {
      if (mask[p] === 0) continue;
      const x = p % 128;
      const y = p >> 7;
      expect(Math.min(x, 127 - x) + Math.min(y, 127 - y)).toBeLessThanOrEqual(4);
    }
  },
);
