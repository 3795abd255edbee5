import { beforeAll, describe, expect, it } from "vitest";
import type { Curve } from "../../../../core/model/curve.ts";
import { failure } from "../../../../core/model/result.ts";
import type { Plan, PlanAverage } from "../../../../core/plan/plan.ts";
import { npyBytes } from "../../../../core/report/npy.ts";
import { FileShelf } from "../../../../renderer/worker/file-shelf.ts";
import { WindowRunSource } from "../../../../renderer/worker/window-run-source.ts";
import { Workbench } from "../../../../renderer/worker/workbench.ts";
import { poissonSource } from "../../../support/random.ts";

const SIDE = 256;
const options = { signal: new AbortController().signal };
const bins = { spacing: "log", count: 60, qMin: 0.01, qMax: 0.2 } as const;
const radial: PlanAverage = { id: "radial", kind: "radial", bins };
const sector: PlanAverage = { id: "flow", kind: "sector", centre_deg: 20, halfWidth_deg: 15, mirrored: true, bins };
const plan: Plan = {
  planVersion: 1,
  runs: { sample: "frame.npy" },
  metadata: {
    all: { distance_m: 4, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [120.3, 131.8] },
    sample: { countTime_s: 600 },
  },
  mask: { shapes: [{ kind: "circle", x: 120, y: 132, r: 6 }] },
  corrections: { normaliseBy: "time", solidAngle: "cosine-cubed" },
  averages: [radial, sector],
};

let bytes: Uint8Array<ArrayBuffer>;

beforeAll(() => {
  const poisson = poissonSource(7);
  const counts = new Float64Array(SIDE * SIDE);
  for (let y = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++) counts[y * SIDE + x] = poisson(400 / (1 + ((x - 120) ** 2 + (y - 132) ** 2) / 900));
  bytes = npyBytes(counts, { width: SIDE, height: SIDE });
});

function workbench(): Workbench {
  const shelf = new FileShelf();
  shelf.put("frame.npy", "1", "frame.npy", new Blob([bytes]));
  const source = new WindowRunSource(shelf, async () => failure("unsupported", "no HDF5 here"));
  return new Workbench({ source, services: {}, version: "0.0.0" });
}

async function reduced(bench: Workbench, asked: Plan) {
  const answer = await bench.reduce({ plan: asked, sampleIndex: 0, knownFrame: undefined }, options);
  if (!answer.ok) throw new Error(answer.fault.message);
  return answer.value;
}

function followed(bench: Workbench, centre: readonly [number, number], averages: readonly PlanAverage[]) {
  const answer = bench.follow({ beamCentre: { x: centre[0], y: centre[1] }, averages });
  if (!answer.ok) throw new Error(answer.fault.message);
  return answer.value.curves;
}

/** Largest relative difference of the intensities, bin by bin; both must have the same bins. */
function difference(a: Curve | undefined, b: Curve | undefined): number {
  if (a === undefined || b === undefined) throw new Error("a curve is missing");
  expect([...a.bin]).toEqual([...b.bin]);
  expect([...a.pixels]).toEqual([...b.pixels]);
  return a.intensity.reduce((worst, value, i) => Math.max(worst, Math.abs(value / b.intensity[i]! - 1)), 0);
}

// Sums of some 10^4 doubles in another order differ by rounding alone.
const ROUNDING = 1e-10;

describe("a drag", () => {
  it("of the centre finds the pixels and intensities that the exact plan finds there", async () => {
    const bench = workbench();
    await reduced(bench, plan);
    const [live] = followed(bench, [124.7, 129.1], [radial, sector]);
    const all = { ...plan.metadata?.all, beamCentre_px: [124.7, 129.1] as const };
    const moved: Plan = { ...plan, metadata: { ...plan.metadata, all } };
    const [exact] = (await reduced(workbench(), moved)).curves;
    expect(difference(live, exact)).toBeLessThan(ROUNDING);
  });

  it("of a sector finds the pixels and intensities that the exact plan finds there", async () => {
    const bench = workbench();
    await reduced(bench, plan);
    const turned = { ...sector, centre_deg: 77.5 };
    const [, live] = followed(bench, [120.3, 131.8], [radial, turned]);
    const [, exact] = (await reduced(workbench(), { ...plan, averages: [radial, turned] })).curves;
    expect(difference(live, exact)).toBeLessThan(ROUNDING);
  });

  it("leaves the averages that don't move as they were", async () => {
    const bench = workbench();
    const before = await reduced(bench, plan);
    const [live] = followed(bench, [120.3, 131.8], [radial, { ...sector, centre_deg: 50 }]);
    expect(live).toEqual(before.curves[0]);
  });
});

describe("a change of the averages alone", () => {
  it("gives what the whole plan gives, ledger and warnings too", async () => {
    const bench = workbench();
    await reduced(bench, plan);
    const changed = { ...plan, averages: [{ ...sector, halfWidth_deg: 25 }, radial] };
    const again = await reduced(bench, changed);
    const fresh = await reduced(workbench(), changed);
    const plain = ({ serial: _serial, duration_ms: _duration, ...rest }: typeof again) => rest;
    expect(plain(again)).toEqual(plain(fresh));
  });
});

describe("a frame that the window has", () => {
  it("is not sent again, and another is", async () => {
    const bench = workbench();
    const first = await reduced(bench, plan);
    const knownFrame = first.frame.id;
    const title = { ...plan, title: "again" };
    const same = await bench.reduce({ plan: title, sampleIndex: 0, knownFrame }, options);
    expect(same).toMatchObject({ ok: true, value: { frame: { id: knownFrame, counts: undefined } } });
    const other = await bench.reduce({ plan: title, sampleIndex: 0, knownFrame: "another" }, options);
    expect(other.ok && other.value.frame.counts?.length).toBe(SIDE * SIDE);
  });
});

describe("the map of bins", () => {
  it("has as many pixels in each bin as the curve says", async () => {
    const bench = workbench();
    const { curves } = await reduced(bench, plan);
    for (const curve of curves) {
      const map = bench.binMap({ averageId: curve.id });
      if (!map.ok) throw new Error(map.fault.message);
      const counted = new Map<number, number>();
      for (const bin of map.value.bins) if (bin >= 0) counted.set(bin, (counted.get(bin) ?? 0) + 1);
      expect([...curve.bin].map((bin) => counted.get(bin))).toEqual([...curve.pixels]);
    }
  });
});

describe("a fault", () => {
  it("names the file that is not at hand, and the key that needs it", async () => {
    const missing = { ...plan, runs: { sample: "frame.npy", flood: "flood.npy" } };
    const answer = await workbench().reduce({ plan: missing, sampleIndex: 0, knownFrame: undefined }, options);
    expect(answer).toMatchObject({ ok: false, fault: { file: "flood.npy", field: "runs.flood" } });
  });
});
