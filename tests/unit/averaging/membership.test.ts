import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { averageFrame, averageMembership, qMaps } from "../../../core/averaging/average-frame.ts";
import {
  annulusMembership,
  type BinMap,
  radialMembership,
  sectorMembership,
} from "../../../core/averaging/membership.ts";
import { rawEstimate } from "../../support/estimate-builder.ts";
import { anyGeometry } from "../geometry/geometries.ts";
import { someGeometry } from "./frames.ts";

const DEGREE = Math.PI / 180;

function edgesOver(q: Float64Array, bins: number): Float64Array {
  const max = Math.max(...q);
  return Float64Array.from({ length: bins + 1 }, (_, k) => (max * (k + 1)) / (bins + 2));
}

function pixelsIn({ index }: BinMap): number {
  return index.filter((bin) => bin >= 0).length;
}

describe("radialMembership", () => {
  it("agrees with the Q map for every pixel that isn't within rounding of an edge", () => {
    fc.assert(
      fc.property(anyGeometry(false), fc.integer({ min: 1, max: 30 }), (geometry, bins) => {
        const { q } = qMaps(geometry);
        const edges = edgesOver(q, bins);
        const { index } = radialMembership(geometry, edges, q);
        for (let p = 0; p < q.length; p++) {
          if (edges.some((edge) => Math.abs(edge - q[p]!) < 1e-13)) continue;
          const wanted = edges.findLastIndex((edge) => edge <= q[p]!);
          expect(index[p]).toBe(wanted === edges.length - 1 ? -1 : wanted);
        }
      }),
      { seed: 7, numRuns: 100 },
    );
  });

  it("gives a bank tilted by nothing to speak of the bins of one that isn't tilted", () => {
    const square = someGeometry();
    const { q } = qMaps(square);
    const edges = edgesOver(q, 20);
    const tilted = { ...square, tilt: [1e-14, 0] as const };
    expect(radialMembership(tilted, edges, qMaps(tilted).q).index).toEqual(radialMembership(square, edges, q).index);
  });

  it("closes the last bin, and takes edges beyond 90 degrees as beyond the bank", () => {
    const geometry = someGeometry({ width: 3, height: 1, beamCentre: { x: 0, y: 0 } });
    const { q } = qMaps(geometry);
    expect(Array.from(radialMembership(geometry, Float64Array.of(0, 1.5, 2.0, 50), q).index)).toEqual([0, 0, 0]);
    expect(Array.from(radialMembership(geometry, Float64Array.of(q[1]! / 2, 50), q).index)).toEqual([-1, 0, 0]);
  });

  it("keeps the outermost pixels where limits come from them", () => {
    fc.assert(
      fc.property(anyGeometry(false), (geometry) => {
        const maps = qMaps(geometry);
        const mask = new Uint16Array(maps.q.length);
        const choice = { id: "all", kind: "radial", bins: { spacing: "linear", count: 7 } } as const;
        const membership = averageMembership(choice, { geometry, maps, mask });
        // A bank of one pixel spans no range; that is refused, not binned.
        if (membership.ok) expect(pixelsIn(membership.value.binMap)).toBe(maps.q.length);
        else expect(Math.max(...maps.q) - Math.min(...maps.q)).toBeLessThan(1e-10);
      }),
      { seed: 8, numRuns: 100 },
    );
  });
});

describe("sectorMembership", () => {
  const geometry = someGeometry({ width: 21, height: 21, beamCentre: { x: 10, y: 10 } });
  const maps = qMaps(geometry);
  const radial = radialMembership(geometry, Float64Array.of(0.001, 1), maps.q);

  it.each([0, 45, 90, 180, 270, 359])(
    "holds |phi - %i deg| <= half width, its edges included, through 0 and 360",
    (centre) => {
      for (const mirrored of [false, true]) {
        const sector = { centre: centre * DEGREE, halfWidth: 45 * DEGREE, mirrored };
        const { index } = sectorMembership(radial, maps.phi, sector);
        const period = mirrored ? 180 : 360;
        for (let p = 0; p < index.length; p++) {
          const away = (((maps.phi[p]! / DEGREE - centre) % period) + 1.5 * period) % period;
          const inside = radial.index[p] === 0 && Math.abs(away - period / 2) <= 45 + 1e-9;
          expect(index[p]).toBe(inside ? 0 : -1);
        }
      }
    },
  );

  it("holds as many pixels around 0 as around 180 degrees on a symmetric bank", () => {
    const around = (degrees: number, mirrored: boolean): number =>
      pixelsIn(sectorMembership(radial, maps.phi, { centre: degrees * DEGREE, halfWidth: 20 * DEGREE, mirrored }));
    expect(around(0, false)).toBe(around(180, false));
    expect(around(90, false)).toBe(around(0, false));
    expect(around(0, true)).toBe(2 * around(0, false));
  });

  it("is everything from half a turn on", () => {
    for (const halfWidth of [180, 200])
      expect(
        pixelsIn(sectorMembership(radial, maps.phi, { centre: 1, halfWidth: halfWidth * DEGREE, mirrored: false })),
      ).toBe(440);
    expect(pixelsIn(sectorMembership(radial, maps.phi, { centre: 1, halfWidth: 90 * DEGREE, mirrored: true }))).toBe(
      440,
    );
  });
});

describe("sums", () => {
  it("of bins are the sums of the pixels in range; sectors and annulus bins that tile the ring add up to it", () => {
    const real = fc.double({ min: 0, max: 2 * Math.PI, noNaN: true });
    fc.assert(
      fc.property(fc.boolean().chain(anyGeometry), fc.nat(), real, (geometry, seed, start) => {
        const maps = qMaps(geometry);
        const counts = Float64Array.from(maps.q, (_, p) => (p * 7919 + seed) % 97);
        const total = (map: BinMap): number => map.index.reduce((sum, bin, p) => sum + (bin >= 0 ? counts[p]! : 0), 0);
        const edges = edgesOver(maps.q, 6);
        const radial = radialMembership(geometry, edges, maps.q);
        const ring = radialMembership(geometry, Float64Array.of(edges[0]!, edges[6]!), maps.q);
        expect(total(radial)).toBe(total(ring));

        const limits = { qMin: edges[0]!, qMax: edges[6]! };
        expect(total(annulusMembership(geometry, { ...limits, count: 7, start }, maps))).toBe(total(ring));
        // Sectors hold both edges, so they tile where no pixel lies on one: not on the axes and diagonals of the array.
        let sum = 0;
        for (let k = 0; k < 5; k++) {
          const sector = { centre: start + 0.0123 + (k * 2 * Math.PI) / 5, halfWidth: Math.PI / 5, mirrored: false };
          sum += total(sectorMembership(ring, maps.phi, sector));
        }
        expect(sum).toBe(total(ring));
      }),
      { seed: 9, numRuns: 100 },
    );
  });

  it("of opposite sectors are equal on a symmetric frame whose centre lies between pixels", () => {
    const geometry = someGeometry({ width: 20, height: 20, beamCentre: { x: 9.5, y: 9.5 } });
    const maps = qMaps(geometry);
    const counts = maps.q.map((q) => 1 / (q + 0.01));
    const bins = { spacing: "linear", qMin: 0.002, qMax: 0.03, count: 8 } as const;
    const along = (centre: number) =>
      averageFrame(
        { id: "s", kind: "sector", centre, halfWidth: 0.4, mirrored: false, bins },
        rawEstimate(20, 20, counts),
        {
          ...{ geometry, maps, unit: "counts" },
        },
      );
    const [right, left] = [along(0.3), along(0.3 + Math.PI)];
    if (!right.ok || !left.ok) throw new Error("both sectors hold pixels");
    expect(left.value.bin).toEqual(right.value.bin);
    for (const [i, value] of right.value.intensity.entries())
      expect(Math.abs(left.value.intensity[i]! / value - 1)).toBeLessThan(1e-12);
  });

  it.each([
    { rowOrder: "bottom-up", transpose: false, degrees: 45 },
    { rowOrder: "top-down", transpose: false, degrees: 315 },
    { rowOrder: "bottom-up", transpose: true, degrees: 63.43 },
    { rowOrder: "top-down", transpose: true, degrees: 296.57 },
  ] as const)(
    "see a bright pixel where the picture shows it: $rowOrder, transposed $transpose",
    ({ degrees, ...stored }) => {
      // Array offsets from the centre: (5, 5) straight, (5, 10) transposed, where columns run along y.
      const at = stored.transpose ? { x: 20, y: 15 } : { x: 15, y: 15 };
      const geometry = someGeometry({ beamCentre: { x: 10, y: 10 }, ...stored });
      const counts = new Float64Array(32 * 24);
      counts[at.y * 32 + at.x] = 100;
      const maps = qMaps(geometry);
      const seen = [45, 63.43, 135, 296.57, 315].filter((centre) => {
        const choice = {
          id: "s",
          kind: "sector",
          centre: centre * DEGREE,
          halfWidth: DEGREE,
          mirrored: false,
        } as const;
        const curve = averageFrame(choice, rawEstimate(32, 24, counts), { geometry, maps, unit: "counts" });
        return curve.ok && curve.value.counts.some((count) => count > 0);
      });
      expect(seen).toEqual([degrees]);
    },
  );
});

describe("averageFrame", () => {
  const geometry = someGeometry();
  const ground = { geometry, maps: qMaps(geometry), unit: "counts", field: "averages[2]" } as const;
  const estimate = rawEstimate(32, 24, new Float64Array(32 * 24).fill(3));

  it("makes a curve with the defaults: 100 logarithmic bins over the pixels in use", () => {
    const curve = averageFrame({ id: "radial", kind: "radial" }, estimate, ground);
    if (!curve.ok) throw new Error(curve.fault.message);
    expect(curve.value.pixels.reduce((sum, n) => sum + n, 0)).toBe(32 * 24);
    expect(new Set(curve.value.intensity)).toEqual(new Set([3]));
  });

  it.each([
    [{ id: "a", kind: "annulus", qMin: 0.2, qMax: 0.1 }, "averages[2].qMax"],
    [{ id: "a", kind: "annulus", qMin: 0.01, qMax: 0.1, count: 0 }, "averages[2].count"],
    [{ id: "a", kind: "annulus", qMin: 3, qMax: 4 }, "averages[2]"],
    [{ id: "b", kind: "box", axis: "x", halfWidth: 0 }, "averages[2].halfWidth_1A"],
    [{ id: "s", kind: "sector", centre: 0, halfWidth: -1, mirrored: true }, "averages[2].halfWidth_deg"],
    [{ id: "r", kind: "radial", bins: { spacing: "edges", edges: [-1, 1] } }, "averages[2].bins"],
    [{ id: "r", kind: "radial", bins: { spacing: "linear", count: -1 } }, "averages[2].bins.count"],
  ] as const)("refuses %o and names the field", (choice, field) => {
    expect(averageFrame(choice, estimate, ground)).toMatchObject({ ok: false, fault: { field } });
  });
});
