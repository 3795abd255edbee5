import { describe, expect, it } from "vitest";
import { type BinChoice, binEdges, pixelRange } from "../../../core/averaging/bins.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "../geometry/check-values.ts";

const RANGE = { min: 0, max: 0.3, minPositive: 0.002, pixelStep: 0.01 };

function edgesOf(choice: BinChoice): Float64Array {
  const edges = binEdges(choice, RANGE);
  if (!edges.ok) throw new Error(edges.fault.message);
  return edges.value;
}

describe("binEdges", () => {
  it.skipIf(CHECK_VALUES_ABSENT)("spaces logarithmic edges evenly in ln Q", () => {
    const { inputs, expected } = checkValues<
      Record<"Qmin" | "Qmax" | "n", number>,
      Record<"edge_1" | "edge_25" | "ratio", number>
    >("avg.logedges");
    const edges = edgesOf({ spacing: "log", qMin: inputs.Qmin, qMax: inputs.Qmax, count: inputs.n });
    expect(edges).toHaveLength(inputs.n + 1);
    expect(relative(edges[1]!, expected.edge_1)).toBeLessThan(1e-10);
    expect(relative(edges[25]!, expected.edge_25)).toBeLessThan(1e-10);
    expect([edges[0], edges[50]]).toEqual([inputs.Qmin, inputs.Qmax]);
  });

  it("spaces linear edges evenly and keeps the limits to the bit", () => {
    const edges = edgesOf({ spacing: "linear", qMin: 0.1, qMax: 0.3, count: 4 });
    expect(Array.from(edges, (edge) => edge.toFixed(12))).toEqual(
      ["0.1", "0.15", "0.2", "0.25", "0.3"].map((edge) => Number(edge).toFixed(12)),
    );
    expect([edges[0], edges[4]]).toEqual([0.1, 0.3]);
  });

  it("takes missing limits from the pixels, so that none of them falls out", () => {
    const linear = edgesOf({ spacing: "linear" });
    expect(linear).toHaveLength(31);
    expect(linear[0]! <= RANGE.min && linear[30]! >= RANGE.max).toBe(true);
    const log = edgesOf({ spacing: "log" });
    expect(log).toHaveLength(101);
    expect(log[0]! <= RANGE.minPositive && log[100]! >= RANGE.max).toBe(true);
    expect(relative(log[100]!, RANGE.max)).toBeLessThan(1e-11);
  });

  it("keeps explicit edges as they are", () => {
    expect(Array.from(edgesOf({ spacing: "edges", edges: [0, 0.1, 0.5] }))).toEqual([0, 0.1, 0.5]);
  });

  it.each<[BinChoice, string]>([
    [{ spacing: "log", qMin: 0, qMax: 0.1 }, "bins.qMin"],
    [{ spacing: "log", qMin: -1 }, "bins.qMin"],
    [{ spacing: "linear", qMin: 0.2, qMax: 0.1 }, "bins.qMax"],
    [{ spacing: "linear", qMin: 0.5 }, "bins.qMin"],
    [{ spacing: "linear", qMin: Number.NaN }, "bins"],
    [{ spacing: "linear", count: 0 }, "bins.count"],
    [{ spacing: "linear", count: 2.5 }, "bins.count"],
    [{ spacing: "log", count: 1e9 }, "bins.count"],
    [{ spacing: "log", qMin: 0.1, qMax: 0.1 * (1 + 1e-15), count: 50 }, "bins.count"],
    [{ spacing: "edges", edges: [0.1] }, "bins.edges"],
    [{ spacing: "edges", edges: [0.1, 0.1] }, "bins.edges"],
    [{ spacing: "edges", edges: [0.2, 0.1] }, "bins.edges"],
    [{ spacing: "edges", edges: [0, Number.POSITIVE_INFINITY] }, "bins.edges"],
  ])("refuses %o and names the field", (choice, field) => {
    expect(binEdges(choice, RANGE)).toMatchObject({ ok: false, fault: { field } });
  });

  it("says that a wholly masked frame gives no range", () => {
    const range = pixelRange(Float64Array.of(1, 2), Uint16Array.of(1, 1), 0.1);
    expect(binEdges({ spacing: "linear" }, range)).toMatchObject({ ok: false, fault: { code: "missing" } });
  });
});

describe("pixelRange", () => {
  it("looks at unmasked pixels only", () => {
    expect(pixelRange(Float64Array.of(0, 3, 5, 9, 1), Uint16Array.of(0, 0, 0, 4, 8), 0.1)).toEqual({
      ...{ min: 0, max: 5, minPositive: 3, pixelStep: 0.1 },
    });
  });
});
