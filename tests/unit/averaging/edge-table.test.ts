import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { EdgeTable, nextUp } from "../../../core/averaging/edge-table.ts";

/** The definition: [low, high), the last bin closed. */
function binByComparing(value: number, edges: Float64Array): number {
  const last = edges.length - 1;
  for (let k = 0; k < last; k++)
    if (value >= edges[k]! && (value < edges[k + 1]! || (k === last - 1 && value === edges[last]))) return k;
  return -1;
}

describe("EdgeTable", () => {
  it("finds what comparing with every edge finds: on edges, one bit beside them, and anywhere", () => {
    const real = fc.double({ min: -10, max: 1e6, noNaN: true });
    fc.assert(
      fc.property(
        fc.uniqueArray(real, { minLength: 2, maxLength: 60 }),
        fc.array(real, { maxLength: 30 }),
        (raw, anywhere) => {
          const edges = Float64Array.from(raw).sort();
          const table = new EdgeTable(edges);
          const values = [
            ...anywhere,
            ...edges,
            ...Array.from(edges, nextUp),
            ...Array.from(edges, (e) => -nextUp(-e)),
          ];
          for (const value of values) expect(table.locate(value)).toBe(binByComparing(value, edges));
        },
      ),
      { seed: 6, numRuns: 300 },
    );
  });

  it("finds bins far narrower than a cell", () => {
    const edges = Float64Array.from({ length: 201 }, (_, k) => 1e-6 * Math.exp((k / 200) * Math.log(1e9)));
    const table = new EdgeTable(edges, 0);
    for (let k = 0; k < 200; k++) expect(table.locate((edges[k]! + edges[k + 1]!) / 2)).toBe(k);
  });

  it("puts NaN and infinities in no bin", () => {
    const table = new EdgeTable(Float64Array.of(0, 1, 2));
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, -1e-300])
      expect(table.locate(value)).toBe(-1);
    expect(table.locate(-0)).toBe(0);
  });

  it.each([[[1]], [[1, 0]], [[0, Number.NaN]], [[0, Number.POSITIVE_INFINITY]]])("refuses edges %o", (edges) => {
    expect(() => new EdgeTable(Float64Array.from(edges))).toThrow(RangeError);
  });
});

describe("nextUp", () => {
  it.each([0, 1, -1, 1e300, -1e-300, 0.1])("leaves nothing between %f and its neighbour", (value) => {
    const next = nextUp(value);
    expect(next).toBeGreaterThan(value);
    const middle = value + (next - value) / 2;
    expect(middle === value || middle === next).toBe(true);
  });
});
