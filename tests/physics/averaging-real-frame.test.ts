import { beforeAll, describe, expect, it } from "vitest";
import { averageFrame, qMaps } from "../../core/averaging/average-frame.ts";
import { binSums } from "../../core/averaging/bin-sums.ts";
import { RadialTable } from "../../core/averaging/radial-table.ts";
import { qOfRadius } from "../../core/geometry/radius-of-q.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { REAL_FRAME, realFrame } from "../support/real-frame.ts";
import { hasShared } from "../support/shared-data.ts";

// A neutron frame of 128 x 128 pixels (nexusformat/exampledata, commit eae51680) and its azimuthal average about
// (60.32, 63.58), found with numpy: r_low, r_high in pixels, pixels, counts. No pixel is closer than 9e-6 to an edge.
const KNOWN = [
  [8, 10, 18, 5703],
  [10, 12, 99, 21763],
  [12, 14, 159, 21719],
  [14, 16, 187, 16168],
  [16, 18, 217, 12563],
  [18, 20, 238, 9570],
  [20, 23, 407, 11656],
  [23, 26, 457, 9850],
  [26, 30, 705, 13322],
  [30, 35, 1028, 17227],
  [35, 40, 1173, 18954],
  [40, 48, 2212, 34957],
  [48, 56, 2616, 39843],
  [56, 64, 2927, 43450],
  [64, 80, 3110, 42539],
] as const;
const RADII = [8, ...KNOWN.map(([, high]) => high)];

// The file gives neither pixel size nor distance; any pair gives the same bins when the edges are given in pixels.
const GEOMETRY: Geometry = {
  ...{ width: 128, height: 128, pixelSizeX: 0.0075, pixelSizeY: 0.0075, distance: 2.000419, wavelength: 5.99996 },
  beamCentre: { x: 60.32, y: 63.58 },
  rowOrder: "bottom-up",
  transpose: false,
  tilt: [0, 0],
};
const qOfPixels = (radius: number): number => qOfRadius(GEOMETRY, radius * GEOMETRY.pixelSizeX);

describe.skipIf(!hasShared(REAL_FRAME))("the real frame", () => {
  let counts: Float64Array;
  let mask: Uint16Array;

  beforeAll(async () => {
    counts = Float64Array.from((await realFrame()).counts);
    // The known average leaves out the block around the stop and 60 pixels in the corners.
    mask = Uint16Array.from(counts, (_, p) => {
      const [x, y] = [p % 128, Math.floor(p / 128)];
      const inStop = x >= 51 && x <= 69 && y >= 55 && y <= 72;
      return inStop || Math.min(x, 127 - x) + Math.min(y, 127 - y) <= 4 ? 1 : 0;
    });
  });

  it("gives the known pixels, counts, mean and sigma in every ring", () => {
    const bins = { spacing: "edges", edges: RADII.map(qOfPixels) } as const;
    const estimate = rawEstimate(128, 128, counts, undefined, mask);
    const curve = averageFrame({ id: "radial", kind: "radial", bins }, estimate, {
      ...{ geometry: GEOMETRY, maps: qMaps(GEOMETRY), unit: "counts" },
    });
    if (!curve.ok) throw new Error(curve.fault.message);
    expect(Array.from(curve.value.pixels)).toEqual(KNOWN.map(([, , pixels]) => pixels));
    expect(Array.from(curve.value.counts)).toEqual(KNOWN.map(([, , , sum]) => sum));
    for (const [i, [, , pixels, sum]] of KNOWN.entries()) {
      expect(curve.value.intensity[i]).toBe(sum / pixels);
      expect(curve.value.sigma[i]).toBeCloseTo(Math.sqrt(sum) / pixels, 12);
    }
  });

  it("gives the same by the table that follows a dragged centre", () => {
    const edges = Float64Array.from(RADII, qOfPixels);
    const out = binSums(KNOWN.length);
    new RadialTable(GEOMETRY, { frame: counts, mask }).sum(GEOMETRY, edges, out);
    expect(Array.from(out.pixels)).toEqual(KNOWN.map(([, , pixels]) => pixels));
    expect(Array.from(out.counts)).toEqual(KNOWN.map(([, , , sum]) => sum));
  });

  it("gives the known sums of the eight sectors between 13 and 30 pixels, as sectors and as an annulus", () => {
    const estimate = rawEstimate(128, 128, counts);
    const ground = { geometry: GEOMETRY, maps: qMaps(GEOMETRY), unit: "counts" } as const;
    const [qMin, qMax] = [qOfPixels(13), qOfPixels(30)];
    const pixels = [292, 281, 295, 283, 282, 293, 280, 290];
    const sums = [10630, 10020, 10730, 10248, 10356, 10660, 10277, 10516];

    const sectors = pixels.map((_, k) => {
      const place = { centre: ((k + 0.5) * Math.PI) / 4, halfWidth: Math.PI / 8, mirrored: false };
      const bins = { spacing: "edges", edges: [qMin, qMax] } as const;
      const curve = averageFrame({ id: "sector", kind: "sector", ...place, bins }, estimate, ground);
      if (!curve.ok) throw new Error(curve.fault.message);
      return curve.value;
    });
    expect(sectors.map((sector) => sector.pixels[0])).toEqual(pixels);
    expect(sectors.map((sector) => sector.counts[0])).toEqual(sums);

    const profile = averageFrame({ id: "ring", kind: "annulus", qMin, qMax, count: 8, start: 0 }, estimate, ground);
    if (!profile.ok) throw new Error(profile.fault.message);
    expect(Array.from(profile.value.pixels)).toEqual(pixels);
    expect(Array.from(profile.value.counts)).toEqual(sums);
  });
});
