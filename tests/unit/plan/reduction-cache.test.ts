import { expect, it } from "vitest";
import type { Plan } from "../../../core/model/plan.ts";
import { reducePlan } from "../../../core/plan/execute.ts";
import { newReductionCache } from "../../../core/plan/reduction-cache.ts";
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
