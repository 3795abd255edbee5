import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Hdf5File } from "../../../core/formats/hdf5/hdf5-file.ts";
import { EVENT_BLOCK, histogramEvents, pulseFault } from "../../../core/formats/nexus/event-histogram.ts";
import { pixelFinder } from "../../../core/formats/nexus/pixel-finder.ts";
import { failure, success } from "../../../core/model/result.ts";
import { diskSource, fixture, messageOf, neverAborted, openSource, unwrap } from "../../support/open-file.ts";

/** Lists by name, of which it notes what is read at once. */
function lists(content: Readonly<Record<string, Float64Array<ArrayBuffer>>>) {
  const largest = { read: 0 };
  const file: Hdf5File = {
    name: "lists",
    notes: [],
    node: () => failure("missing", "no nodes"),
    prepare: async () => success(undefined),
    readText: () => failure("missing", "no texts"),
    close() {},
    read(path, slice) {
      const [start, end] = slice![0]!;
      largest.read = Math.max(largest.read, end - start);
      return success(content[path]!.slice(start, end));
    },
  };
  return { file, largest };
}

describe("pixels by their numbers", () => {
  it("finds each pixel and no other, however the numbers lie", () => {
    // 40 numbers that are all different, close together or up to 2^53 apart, in any order.
    const numbers = fc
      .uniqueArray(fc.oneof(fc.integer({ min: -50, max: 200 }), fc.maxSafeInteger()), { minLength: 1, maxLength: 40 })
      .map((list) => Float64Array.from(list));
    fc.assert(
      fc.property(numbers, fc.maxSafeInteger(), (list, other) => {
        const find = unwrap(pixelFinder(list, "numbers"));
        for (const [pixel, number] of list.entries()) expect(find(number)).toBe(pixel);
        expect(find(other)).toBe(list.indexOf(other));
      }),
      { seed: 17, numRuns: 200 },
    );
  });

  it("refuses a number that two pixels have, and what is no whole number", () => {
    expect(messageOf(pixelFinder([3, 1, 3], "numbers"))).toContain("gives the number 3 to two pixels");
    expect(messageOf(pixelFinder([1, 2.5], "numbers"))).toContain("2.5, which is no pixel number");
  });
});

describe("a histogram of events", () => {
  const finder = unwrap(pixelFinder([10, 11, 12, 99], "numbers"));

  it("loses no event: counts, unmapped and those outside the times add up", () => {
    const event = fc.tuple(fc.constantFrom(10, 11, 12, 99, 5, -1), fc.double({ min: -1, max: 9, noNaN: false }));
    fc.assert(
      fc.property(fc.array(event, { maxLength: 60 }), (drawn) => {
        const { file } = lists({
          ids: Float64Array.from(drawn, ([id]) => id),
          times: Float64Array.from(drawn, ([, time]) => time),
        });
        const edges = Float64Array.of(0, 1, 3, 8);
        const fields = { file, ids: "ids", offsets: "times", events: drawn.length };
        const made = unwrap(histogramEvents(fields, 4, finder, edges, neverAborted));
        const sum = Array.from(made.counts).reduce((total, count) => total + count, 0);
        expect(sum + made.unmapped + made.outside).toBe(drawn.length);
        // Bin by bin, by the definition of an edge.
        for (const [bin, [low, high]] of [
          [0, 1],
          [1, 3],
          [3, 8],
        ].entries())
          for (const [pixel, id] of [10, 11, 12, 99].entries())
            expect(made.counts[bin * 4 + pixel]).toBe(
              drawn.filter(([e, t]) => e === id && t >= low! && (t < high! || (bin === 2 && t === 8))).length,
            );
      }),
      { seed: 23, numRuns: 200 },
    );
  });

  it("is read in blocks, so that memory does not grow with the run", () => {
    const events = 2 * EVENT_BLOCK + 7;
    const { file, largest } = lists({ ids: new Float64Array(events).fill(11) });
    const fields = { file, ids: "ids", offsets: "", events };
    const made = unwrap(histogramEvents(fields, 4, finder, undefined, neverAborted));
    expect(Array.from(made.counts)).toEqual([0, events, 0, 0]);
    expect(largest.read).toBe(EVENT_BLOCK);
  });

  it("stops when nobody waits for it any more", () => {
    const { file } = lists({ ids: Float64Array.of(10) });
    const fields = { file, ids: "ids", offsets: "", events: 1 };
    const stopped = AbortSignal.abort();
    expect(() => histogramEvents(fields, 4, finder, undefined, stopped)).toThrow();
  });
});

it.each([
  { index: [0, 0, 4, 9], wrong: undefined },
  { index: [2, 4], wrong: "index[0] is 2; the first pulse begins at event 0" },
  { index: [0, 5, 4], wrong: "index[2] is 4, less than the 5 before it" },
  { index: [0, 10], wrong: "index[1] is 10; there are 9 events" },
])("tells whether $index divides 9 events into pulses", ({ index, wrong }) => {
  const { file } = lists({ index: Float64Array.from(index) });
  expect(unwrap(pulseFault(file, "index", index.length, 9))).toBe(wrong);
});

it("says when the pulses came and how many events lie outside the times of flight", async () => {
  const run = unwrap(await openSource(diskSource(fixture("events.h5")), { entry: "flight" }));
  const frame = unwrap(await run.banks[0]!.readFrame(2, neverAborted));
  run.close();
  expect(run.notes.join("\n")).toContain("7 pulses from 0 to 0.24 s after 2026-03-01T10:00:00Z");
  expect(frame.warnings.join()).toMatch(/3 of \d+ events lie outside the times of flight/);
  // The event at the last edge itself belongs to pixel 0.
  expect(frame.counts[0]).toBe(1);
});
