import { expect, it } from "vitest";
import { loopShare } from "../../../../renderer/worker/processor-share.ts";

/** A clock whose readings are `step` apart, but for one gap in every `every` of them. */
function clock(step: number, gap: number, every: number): () => number {
  let now = 0;
  let readings = 0;
  return () => {
    now += ++readings % every === 0 ? gap : step;
    return now;
  };
}

it.each([
  { gap: 0.1, share: 1 },
  // 30 ms of its own, then 10 ms of others; and the other way round.
  { gap: 10, share: 0.75 },
  { gap: 90, share: 0.25 },
])("is $share of a processor where every 30 ms of a loop are followed by a gap of $gap ms", ({ gap, share }) => {
  expect(loopShare(4000, clock(0.1, gap, 300))).toBeCloseTo(share, 1);
});
