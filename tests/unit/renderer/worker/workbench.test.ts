import { beforeAll, describe, expect, it } from "vitest";
import type { Curve } from "../../../../core/model/curve.ts";
import { failure } from "../../../../core/model/result.ts";
import type { Plan, PlanAverage } from "../../../../core/plan/plan.ts";
import { npyBytes } from "../../../../core/report/npy.ts";
import { walkRows } from "../../../../renderer/state/walk-rows.ts";
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
let blocked: Uint8Array<ArrayBuffer>;

beforeAll(() => {
  const poisson = poissonSource(7);
  const counts = new Float64Array(SIDE * SIDE);
  for (let y = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++) counts[y * SIDE + x] = poisson(400 / (1 + ((x - 120) ** 2 + (y - 132) ** 2) / 900));
  bytes = npyBytes(counts, { width: SIDE, height: SIDE });
  const background = Float64Array.from(counts, () => poisson(2));
  blocked = npyBytes(background, { width: SIDE, height: SIDE });
});

function workbench(): Workbench {
  const shelf = new FileShelf();
  shelf.put("frame.npy", "1", "frame.npy", new Blob([bytes]));
  shelf.put("blocked.npy", "1", "blocked.npy", new Blob([blocked]));
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

/** Largest relative difference of intensities and sigmas, bin by bin; both must have the same bins. */
function difference(a: Curve | undefined, b: Curve | undefined): number {
  if (a === undefined || b === undefined) throw new Error("a curve is missing");
  expect([...a.bin]).toEqual([...b.bin]);
  expect([...a.pixels]).toEqual([...b.pixels]);
  return Math.max(
    ...a.intensity.map((value, i) => Math.abs(value / b.intensity[i]! - 1)),
    ...a.sigma.map((value, i) => Math.abs(value / b.sigma[i]! - 1)),
  );
}

/** The plan with the centre of a drag let go. */
function centredAt(some: Plan, centre: readonly [number, number]): Plan {
  return { ...some, metadata: { ...some.metadata, all: { ...some.metadata?.all, beamCentre_px: centre } } };
}

// Sums of some 10^4 doubles in another order differ by rounding alone.
const ROUNDING = 1e-10;

describe("a drag", () => {
  it("of the centre finds the pixels and intensities that the exact plan finds there", async () => {
    const bench = workbench();
    await reduced(bench, plan);
    const [live] = followed(bench, [124.7, 129.1], [radial, sector]);
    const [exact] = (await reduced(workbench(), centredAt(plan, [124.7, 129.1]))).curves;
    expect(difference(live, exact)).toBeLessThan(ROUNDING);
  });

  it.each([
    ["without solid angle", { corrections: { normaliseBy: "time", solidAngle: "none" } }],
    [
      "with dead time, whose variance is not the counts",
      { corrections: { ...plan.corrections, deadTime: { tau_s: 1e-4, model: "non-paralysable" } } },
    ],
    [
      "with a blocked beam taken off",
      {
        runs: { ...plan.runs, blockedBeam: "blocked.npy" },
        metadata: { ...plan.metadata, blockedBeam: { countTime_s: 300 } },
      },
    ],
  ] as const)("of the centre and of a sector does so %s", async (_how, change) => {
    const bench = workbench();
    const some: Plan = { ...plan, ...change };
    await reduced(bench, some);
    const [live] = followed(bench, [124.7, 129.1], [radial, sector]);
    const [exact] = (await reduced(workbench(), centredAt(some, [124.7, 129.1]))).curves;
    expect(difference(live, exact)).toBeLessThan(ROUNDING);
    const turned = { ...sector, centre_deg: 350, mirrored: false };
    const [, liveTurned] = followed(bench, [120.3, 131.8], [radial, turned]);
    const [, exactTurned] = (await reduced(workbench(), { ...some, averages: [radial, turned] })).curves;
    expect(difference(liveTurned, exactTurned)).toBeLessThan(ROUNDING);
  });

  it("goes on alike when everything is prepared, and after the averages changed", async () => {
    const bench = workbench();
    await reduced(bench, plan);
    const turned = { ...sector, centre_deg: 77.5 };
    const before = followed(bench, [120.3, 131.8], [radial, turned]);
    const parts = [...bench.prepareFollow()];
    expect(parts.length).toBeGreaterThan(3);
    const [, prepared] = followed(bench, [120.3, 131.8], [radial, turned]);
    expect(difference(prepared, before[1])).toBeLessThan(ROUNDING);
    const [, exact] = (await reduced(bench, { ...plan, averages: [radial, turned] })).curves;
    expect(difference(prepared, exact)).toBeLessThan(ROUNDING);
    const [, again] = followed(bench, [120.3, 131.8], [radial, sector]);
    const [, first] = (await reduced(workbench(), plan)).curves;
    expect(difference(again, first)).toBeLessThan(ROUNDING);
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

describe("an answer", () => {
  it("is plain data, which a message can carry, even where the resolution is known", async () => {
    const camera = { sourceAperture_mm: 20, sampleAperture_mm: 8, collimation_m: 4, wavelengthSpread: 0.1 };
    const known = { ...plan, metadata: { ...plan.metadata, all: { ...plan.metadata?.all, ...camera } } };
    const view = await reduced(workbench(), known);
    expect(view.curves[0]?.qSigma).toBeDefined();
    expect(structuredClone(view)).toEqual(view);
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

describe("a point", () => {
  it("is followed from its counts a pixel to the intensity of the curve", async () => {
    const bench = workbench();
    const withBlocked: Plan = {
      ...plan,
      runs: { ...plan.runs, blockedBeam: "blocked.npy" },
      metadata: { ...plan.metadata, blockedBeam: { countTime_s: 300 } },
    };
    const [curve] = (await reduced(bench, withBlocked)).curves;
    if (curve === undefined) throw new Error("no curve");
    const index = 20;
    const answer = await bench.walkPoint({ averageId: "radial", index }, options);
    if (!answer.ok) throw new Error(answer.fault.message);
    const { walk } = answer.value;
    expect(walk.at(-1)?.intensity).toBeCloseTo(curve.intensity[index]!, 6);
    expect(walk[0]).toEqual({
      step: "mask",
      intensity: expect.closeTo(curve.counts[index]! / curve.pixels[index]!, 9),
    });
    const rows = walkRows(walk);
    expect(rows.map(({ step }) => step)).toEqual(["mask", "blockedBeam", "normaliseBy", "solidAngle"]);
    // 300 s of about 2 counts in a pixel are 4 in the sample's 600 s, by which its counts are then divided.
    expect(Number(/^− ([\d.]+), /.exec(rows[1]?.change ?? "")?.[1])).toBeCloseTo(4, 0);
    expect(rows[2]?.change).toBe("× 0.001667");
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
