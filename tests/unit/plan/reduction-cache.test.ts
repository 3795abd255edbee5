import { expect, it } from "vitest";
import type { Plan } from "../../../core/model/plan.ts";
import { reducePlan } from "../../../core/plan/execute.ts";
import { newReductionCache } from "../../../core/plan/reduction-cache.ts";
import { everything, files as experiment, frame } from "../../support/plan-experiment.ts";
import { poissonSource } from "../../support/random.ts";
import { inFile, memorySource, type RunParts } from "../../support/run-builder.ts";

const SIDE = 48;
const draw = poissonSource(8);
const halo: RunParts = {
  width: SIDE,
  height: SIDE,
  counts: Float64Array.from({ length: SIDE * SIDE }, (_, p) =>
    draw(2000 / (1 + (((p % SIDE) - 23.2) ** 2 + (Math.floor(p / SIDE) - 24.6) ** 2) / 50)),
  ),
  metadata: {
    wavelength: inFile(6),
    distance: inFile(4),
    pixelSize: inFile([0.005, 0.005]),
    monitorCounts: inFile(1e5),
  },
};
const base: Plan = { planVersion: 1, runs: { sample: "a" }, beamCentre: { method: "symmetry" } };
const variants: Plan[] = [
  base,
  { ...base, corrections: { solidAngle: "none" } },
  { ...base, mask: { edge_px: 5 } },
  { ...base, mask: { edge_px: 5 }, metadata: { all: { distance_m: 2 } } },
  { ...base, runs: { sample: { file: "a", rowOrder: "top-down" } } },
  { ...base, runs: { sample: "b" } },
  { ...base, beamCentre: { method: "given" }, metadata: { all: { beamCentre_px: [20, 20] } } },
  base,
];

it("changes nothing in a result, whatever changes from one plan to the next, and saves reading", async () => {
  const files = { a: halo, b: { ...halo, counts: (halo.counts as Float64Array).map((c, p) => (p % 3 ? c : 2 * c)) } };
  const signal = new AbortController().signal;
  const cache = newReductionCache();
  const source = memorySource(files);
  for (const plan of variants) {
    const kept = await reducePlan(plan, source, { signal, version: "1", cache });
    const fresh = await reducePlan(plan, memorySource(files), { signal, version: "1" });
    expect(kept).toEqual(fresh);
  }
  // Read: a, then a in another row order, then b, then a again twice: nothing older than the last plan is held.
  expect(source.opened).toEqual(["a", "a", "b", "a"]);
  expect(cache.runs.size).toBe(1);
});

it("keeps what flood and direct beams tell from sample to sample, and no longer than it holds", async () => {
  const files = { ...experiment, "b.npy": frame(25, 31), "flood-2.npy": frame(700, 32) };
  const signal = new AbortController().signal;
  const cache = newReductionCache();
  const batch: Plan = { ...everything, runs: { ...everything.runs, sample: ["a.npy", "b.npy"] } };
  const ask = async (plan: Plan, sampleIndex = 0) => {
    const options = { signal, version: "1", sampleIndex };
    const kept = await reducePlan(plan, memorySource(files), { ...options, cache });
    expect(kept).toEqual(await reducePlan(plan, memorySource(files), options));
    expect(kept.ok).toBe(true);
    return cache.measured.value;
  };
  const first = await ask(batch);
  expect(await ask(batch, 1)).toBe(first);
  expect(await ask({ ...batch, mask: { edge_px: 3 } })).toBe(first);
  const given = { ...everything.corrections, transmission: { sample: 0.7, emptyCell: 0.9 } };
  for (const change of [
    { metadata: { ...everything.metadata, emptyBeam: { attenuation: 0.0101 } } },
    { runs: { ...batch.runs, flood: "flood-2.npy" } },
    { corrections: given },
    { metadata: { sample: { thickness_mm: 1 }, all: { distance_m: 5 } } },
  ] satisfies Partial<Plan>[])
    expect(await ask({ ...batch, ...change })).not.toBe(first);
});
