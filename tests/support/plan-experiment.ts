import type { RunMetadata } from "../../core/model/metadata.ts";
import type { Plan } from "../../core/model/plan.ts";
import type { Fault } from "../../core/model/result.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { poissonSource } from "./random.ts";
import { inFile, memorySource, type RunParts } from "./run-builder.ts";

// A small experiment in memory, with every kind of run, and plans for it.

export const SIDE = 24;
export const CENTRE = 11.3;
export const camera: RunMetadata = {
  wavelength: inFile(6, "/entry/wavelength"),
  distance: inFile(4, "/entry/distance"),
  pixelSize: inFile([0.005, 0.005], "/entry/pixel"),
  beamCentre: inFile([CENTRE, 12.1], "/entry/centre"),
  monitorCounts: inFile(1e6, "/entry/monitor"),
  countTime: inFile(600, "/entry/time"),
};

export function frame(level: number, seed: number, more: Partial<RunParts> = {}): RunParts {
  const draw = poissonSource(seed);
  const counts = Float64Array.from({ length: SIDE * SIDE }, () => draw(level));
  return { width: SIDE, height: SIDE, counts, metadata: camera, ...more };
}

/** A direct beam: a spot of two pixels' width on the centre. */
export function beam(level: number, seed: number, more: RunMetadata = {}): RunParts {
  const draw = poissonSource(seed);
  const counts = Float64Array.from({ length: SIDE * SIDE }, (_, p) => {
    const r2 = ((p % SIDE) - CENTRE) ** 2 + (Math.floor(p / SIDE) - 12.1) ** 2;
    return draw(level * Math.exp(-r2 / 4) + 0.02);
  });
  return { width: SIDE, height: SIDE, counts, metadata: { ...camera, attenuation: inFile(0.01), ...more } };
}

export const files: Record<string, RunParts> = {
  "a.npy": frame(20, 1),
  "cell.npy": frame(6, 2),
  "blocked.npy": frame(1, 3),
  "flood.npy": frame(900, 4),
  "open.npy": beam(4000, 5),
  "a-open.npy": beam(2800, 6),
  "cell-open.npy": beam(3800, 7),
};

export const everything: Plan = {
  planVersion: 1,
  runs: {
    sample: "a.npy",
    sampleTransmission: "a-open.npy",
    emptyCell: "cell.npy",
    emptyCellTransmission: "cell-open.npy",
    emptyBeam: "open.npy",
    blockedBeam: "blocked.npy",
    flood: "flood.npy",
  },
  metadata: { sample: { thickness_mm: 1 } },
  mask: { edge_px: 1 },
  corrections: {
    deadTime: { model: "non-paralysable", tau_s: 1e-4 },
    transmission: { sample: "measure", emptyCell: "measure", obliquePath: true, radius_px: 6 },
    detectorAbsorption: { opticalDepth: 1.2 },
    absolute: { method: "direct-beam", directBeamRadius_px: 6 },
    background_1cm: 0.01,
    gravity: "none",
  },
  averages: [
    { id: "radial", kind: "radial", bins: { spacing: "linear", count: 6 } },
    {
      id: "flow",
      kind: "sector",
      centre_deg: 0,
      halfWidth_deg: 40,
      mirrored: true,
      bins: { spacing: "linear", count: 3 },
    },
    { id: "ring", kind: "annulus", qMin: 0.002, qMax: 0.012, count: 8 },
    { id: "cut", kind: "box", axis: "x", halfWidth_1A: 0.004, bins: { spacing: "linear", count: 5 } },
  ],
};
export const plain: Plan = { planVersion: 1, runs: { sample: "a.npy" }, averages: [everything.averages![0]!] };

export const signal = new AbortController().signal;

export async function reduce(plan: Plan, more: Record<string, RunParts> = {}): Promise<Reduction> {
  const result = await reducePlan(plan, memorySource({ ...files, ...more }), { signal, version: "1.2.3" });
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

export async function refuse(plan: Plan, more: Record<string, RunParts> = {}): Promise<Fault> {
  const result = await reducePlan(plan, memorySource({ ...files, ...more }), { signal, version: "1.2.3" });
  if (result.ok) throw new Error("a fault was expected");
  return result.fault;
}

export function withMetadata(more: Partial<Record<keyof RunMetadata, unknown>>): RunParts {
  return {
    ...files["a.npy"]!,
    metadata: Object.fromEntries(Object.entries({ ...camera, ...more }).filter(([, v]) => v !== undefined)),
  };
}
