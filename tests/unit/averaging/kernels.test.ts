import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { averageEstimate } from "../../../core/averaging/average.ts";
import { qMaps } from "../../../core/averaging/average-frame.ts";
import { averageOfSums, type BinSums, binSums } from "../../../core/averaging/bin-sums.ts";
import { MappedSums } from "../../../core/averaging/mapped-sums.ts";
import { type BinMap, radialMembership, sectorMembership } from "../../../core/averaging/membership.ts";
import { RadialTable } from "../../../core/averaging/radial-table.ts";
import { SectorOrder } from "../../../core/averaging/sector-order.ts";
import { SectorPass } from "../../../core/averaging/sector-pass.ts";
import { solidAngleMap } from "../../../core/geometry/solid-angle.ts";
import type { Geometry } from "../../../core/model/geometry.ts";
import { rawEstimate } from "../../support/estimate-builder.ts";
import { uniformSource } from "../../support/random.ts";
import { anyGeometry } from "../geometry/geometries.ts";
import { someGeometry } from "./frames.ts";

interface Scene {
  readonly frame: Uint32Array;
  readonly mask: Uint16Array;
  readonly efficiency: Float64Array;
  readonly norm: Float64Array;
  readonly edges: Float64Array;
  readonly maps: { readonly q: Float64Array; readonly phi: Float64Array };
  readonly binMap: BinMap;
}

function scene(geometry: Geometry, bins: number, seed: number): Scene {
  const draw = uniformSource(seed + 1);
  const maps = qMaps(geometry);
  const frame = Uint32Array.from(maps.q, () => Math.floor(draw() * 40));
  const mask = Uint16Array.from(maps.q, () => (draw() < 0.1 ? 1 : 0));
  const efficiency = maps.q.map((_, p) => (mask[p] === 0 ? 0.9 + 0.2 * draw() : Number.NaN));
  const omega = solidAngleMap(geometry, "cosine-cubed");
  const max = Math.max(...maps.q);
  const edges = Float64Array.from({ length: bins + 1 }, (_, k) => (max * (k + 1)) / (bins + 1));
  return {
    ...{ frame, mask, efficiency, maps, edges },
    norm: efficiency.map((value, p) => value * omega[p]!),
    binMap: radialMembership(geometry, edges, maps.q),
  };
}

/** Pixels and counts bit for bit, norm to 1e-12, in every bin, against the general estimator. */
function expectSame(got: BinSums, { frame, mask, norm }: Scene, geometry: Geometry, binMap: BinMap): void {
  const { width, height } = geometry;
  const columns = averageEstimate(rawEstimate(width, height, Float64Array.from(frame), norm, mask), binMap);
  const wanted = binSums(got.count);
  for (const [i, b] of columns.bin.entries()) {
    wanted.pixels[b] = columns.pixels[i]!;
    wanted.counts[b] = columns.counts[i]!;
    wanted.norm[b] = columns.norm[i]!;
  }
  expect(got.pixels).toEqual(wanted.pixels);
  expect(got.counts).toEqual(wanted.counts);
  for (const [b, value] of wanted.norm.entries())
    expect(Math.abs(got.norm[b]! - value)).toBeLessThanOrEqual(1e-12 * value);
  const { intensity, sigma } = averageOfSums(got);
  for (const [i, b] of columns.bin.entries()) {
    expect(Math.abs(intensity[b]! - columns.intensity[i]!)).toBeLessThanOrEqual(1e-12 * columns.intensity[i]!);
    expect(Math.abs(sigma[b]! - columns.sigma[i]!)).toBeLessThanOrEqual(1e-12 * columns.sigma[i]!);
  }
}

const CASES = fc.record({ bins: fc.integer({ min: 1, max: 40 }), seed: fc.nat(1000) });

describe("MappedSums", () => {
  it("gives what the general estimator gives, with the norm summed anew and with it kept", () => {
    fc.assert(
      fc.property(fc.boolean().chain(anyGeometry), CASES, (geometry, { bins, seed }) => {
        const some = scene(geometry, bins, seed);
        const sums = new MappedSums(some.binMap, some.mask, some.norm);
        const out = binSums(bins);
        sums.sum(some.frame, out);
        expectSame(out, some, geometry, some.binMap);
        sums.sumCounts(some.frame, out);
        expectSame(out, some, geometry, some.binMap);
      }),
      { seed: 10, numRuns: 60 },
    );
  });

  it("counts beyond 2^32 without losing one", () => {
    const geometry = someGeometry({ width: 5, height: 1 });
    const binMap = { index: new Int32Array(5), count: 1, edges: Float64Array.of(0, 1) };
    const sums = new MappedSums(binMap, new Uint16Array(5), new Float64Array(5).fill(1));
    const out = binSums(1);
    sums.sumCounts(new Uint32Array(5).fill(4294967295), out);
    expect(out.counts[0]).toBe(5 * 4294967295);
    expect(geometry.width).toBe(out.pixels[0]);
  });

  it("refuses frames and rooms of another size", () => {
    const { binMap, mask, norm, frame } = scene(someGeometry(), 5, 1);
    const sums = new MappedSums(binMap, mask, norm);
    expect(() => sums.sum(frame.subarray(1), binSums(5))).toThrow("767");
    expect(() => sums.sum(frame, binSums(4))).toThrow("4 bins");
  });
});

describe("RadialTable", () => {
  it("follows a moved beam centre, distance and wavelength, and finds the same pixels", () => {
    fc.assert(
      fc.property(
        anyGeometry(false),
        CASES,
        fc.double({ min: -3, max: 3, noNaN: true }),
        (start, { bins, seed }, move) => {
          const some = scene(start, bins, seed);
          const table = new RadialTable(start, some);
          const out = binSums(bins);
          for (const geometry of [
            start,
            { ...start, beamCentre: { x: start.beamCentre.x + move, y: start.beamCentre.y - move } },
            { ...start, distance: start.distance * 1.1, wavelength: start.wavelength * 0.9 },
          ]) {
            const maps = qMaps(geometry);
            const omega = solidAngleMap(geometry, "cosine-cubed");
            const moved = { ...some, norm: some.efficiency.map((value, p) => value * omega[p]!) };
            table.sum(geometry, some.edges, out);
            expectSame(out, moved, geometry, radialMembership(geometry, some.edges, maps.q));
          }
        },
      ),
      { seed: 11, numRuns: 60 },
    );
  });

  it("counts pixels that lie exactly on edges where the definition puts them", () => {
    // Radii of 0, 1, 2... pixels, with edges through pixel centres, up to and including the last.
    const geometry = someGeometry({ width: 21, height: 21, beamCentre: { x: 10, y: 10 } });
    const some = scene(geometry, 3, 5);
    const edges = Float64Array.of(...[1, 5, 10].map((x) => some.maps.q[10 * 21 + 10 + x]!));
    const table = new RadialTable(geometry, some);
    const out = binSums(2);
    table.sum(geometry, edges, out);
    expectSame(out, some, geometry, radialMembership(geometry, edges, some.maps.q));
  });

  it("takes the next frame of the same bank", () => {
    const geometry = someGeometry();
    const some = scene(geometry, 6, 2);
    const table = new RadialTable(geometry, some);
    const next = { ...some, frame: some.frame.map((count) => 3 * count + 1) };
    table.setFrame(next.frame);
    const out = binSums(6);
    table.sum(geometry, some.edges, out);
    expectSame(out, next, geometry, some.binMap);
  });

  it("leaves the solid angle out of the norm where there is none in it", () => {
    const geometry = someGeometry();
    const some = scene(geometry, 6, 2);
    const table = new RadialTable(geometry, { ...some, solidAngle: "none" });
    const out = binSums(6);
    table.sum(geometry, some.edges, out);
    expectSame(out, { ...some, norm: some.efficiency }, geometry, some.binMap);
  });

  it("refuses a tilted bank", () => {
    const some = scene(someGeometry(), 6, 2);
    const table = new RadialTable(someGeometry(), some);
    expect(() => table.sum(someGeometry({ tilt: [0.1, 0] }), some.edges, binSums(6))).toThrow("square to the beam");
  });
});

describe.each([true, false])("sectors, mirrored %s", (mirrored) => {
  it("turn by sorted order and by one pass to the pixels of sectorMembership", () => {
    const angle = fc.double({ min: -7, max: 7, noNaN: true });
    const half = fc.double({ min: 0.01, max: 3.3, noNaN: true });
    const turns = fc.array(fc.tuple(angle, half), { minLength: 1, maxLength: 8 });
    fc.assert(
      fc.property(fc.boolean().chain(anyGeometry), CASES, turns, (geometry, { bins, seed }, sectors) => {
        const some = scene(geometry, bins, seed);
        const order = new SectorOrder(some.binMap, some.maps.phi, mirrored);
        order.setFrame(some.frame, some.mask, some.norm);
        const pass = new SectorPass(some.binMap, mirrored, { phi: some.maps.phi, mask: some.mask, norm: some.norm });
        const out = binSums(bins);
        for (const [centre, halfWidth] of sectors) {
          const sector = { centre, halfWidth, mirrored };
          const binMap = sectorMembership(some.binMap, some.maps.phi, sector);
          pass.sum(some.frame, sector, out);
          expectSame(out, some, geometry, binMap);
          order.sum(sector, out);
          expect(out.pixels).toEqual(passOf(pass, some, sector).pixels);
          expect(out.counts).toEqual(passOf(pass, some, sector).counts);
          // A difference of running sums: rounding is that of the whole bin.
          const whole = averageEstimate(
            rawEstimate(geometry.width, geometry.height, some.norm, some.norm, some.mask),
            some.binMap,
          );
          for (const [i, b] of whole.bin.entries())
            expect(Math.abs(out.norm[b]! - passOf(pass, some, sector).norm[b]!)).toBeLessThanOrEqual(
              1e-12 * whole.norm[i]!,
            );
        }
      }),
      { seed: 12, numRuns: 40 },
    );
  });

  it("hold pixels that lie exactly on their edges, by either way", () => {
    const geometry = someGeometry({ width: 21, height: 21, beamCentre: { x: 10, y: 10 } });
    const some = scene(geometry, 3, 4);
    const order = new SectorOrder(some.binMap, some.maps.phi, mirrored);
    order.setFrame(some.frame, some.mask, some.norm);
    for (const centre of [0, 1, 2, 3, 4]) {
      const sector = { centre: (centre * Math.PI) / 4, halfWidth: Math.PI / 4, mirrored };
      const out = binSums(3);
      order.sum(sector, out);
      expectSame(out, some, geometry, sectorMembership(some.binMap, some.maps.phi, sector));
    }
  });

  it("refuse the other kind of sector", () => {
    const some = scene(someGeometry(), 4, 3);
    const sector = { centre: 0, halfWidth: 0.3, mirrored: !mirrored };
    expect(() => new SectorOrder(some.binMap, some.maps.phi, mirrored).sum(sector, binSums(4))).toThrow("other kind");
  });
});

describe("variances", () => {
  it("are summed in every bin by every kernel, whatever masked pixels hold", () => {
    const geometry = someGeometry();
    const { width, height } = geometry;
    const some = scene(geometry, 6, 8);
    const draw = uniformSource(9);
    const variance = Float64Array.from(some.mask, (bits) => (bits === 0 ? 0.5 + draw() : Number.NaN));
    const sector = { centre: 1, halfWidth: 0.7, mirrored: false };
    const table = new RadialTable(geometry, { ...some, variance });
    const pass = new SectorPass(some.binMap, false, { ...some.maps, mask: some.mask, norm: some.norm });
    const order = new SectorOrder(some.binMap, some.maps.phi, false);
    order.setFrame(some.frame, some.mask, some.norm, variance);
    const radial = binSums(6, true);
    const [turned, sorted] = [binSums(6, true), binSums(6, true)];
    table.sum(geometry, some.edges, radial);
    pass.sum(some.frame, sector, turned, variance);
    order.sum(sector, sorted);
    const inSector = sectorMembership(some.binMap, some.maps.phi, sector);
    for (const [out, binMap] of [
      [radial, some.binMap],
      [turned, inSector],
      [sorted, inSector],
    ] as const) {
      // As counts of another frame, they are summed by the general estimator.
      const sums = averageEstimate(rawEstimate(width, height, variance, some.norm, some.mask), binMap);
      for (const [i, b] of sums.bin.entries())
        expect(Math.abs(out.variance![b]! / sums.counts[i]! - 1)).toBeLessThan(1e-12);
      expect(out.variance!.filter((sum) => sum > 0).length).toBe(sums.bin.length);
    }
  });
});

function passOf(pass: SectorPass, { frame }: Scene, sector: Parameters<SectorPass["sum"]>[1]): BinSums {
  const out = binSums(pass.count);
  pass.sum(frame, sector, out);
  return out;
}
