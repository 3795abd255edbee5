import type { RunMetadata } from "../../core/model/metadata.ts";
import type { Plan } from "../../core/model/plan.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { checkScene, type Scene, type SceneRun } from "../../core/simulate/scene.ts";
import { type SimulatedFile, simulateScene } from "../../core/simulate/simulate.ts";
import { poissonSource } from "./random.ts";
import { inFile, memorySource, type RunParts } from "./run-builder.ts";

/** Silica spheres, all alike, 1 vol % in heavy water. Smearing moves the intensity by a few thousandths. */
export const SPHERES = { radius: 40, volumeFraction: 0.01, contrast: 2.89e-6 };
export const BACKGROUND = 0.05;
const SIDE = 96;
const DEAD_TIME = 2e-6;

const SCENE: Scene = {
  sceneVersion: 1,
  title: "spheres",
  camera: {
    name: "Lantern",
    source: "Fellmoor",
    width: SIDE,
    height: SIDE,
    pixelSize_mm: [8, 8],
    distance_m: 4,
    wavelength_A: 6,
    wavelengthSpread: 0.02,
    beamCentre_px: [46.7, 48.2],
    sourceAperture_mm: 10,
    sampleAperture_mm: 6,
    collimation_m: 6,
    deadTime_s: DEAD_TIME,
    beamRate_1s: 1e6,
    monitorRate_1s: 1e5,
    ambientRate_1s: 0.002,
    response: { swell: 0.05, scatter: 0.02, dead: [[12, 40]], hot: [[30, 30]], hotRate_1s: 20 },
    stop: { shape: "circle", radius_mm: 25, at_px: [46.9, 48.0], edgeBlur_px: 0.3 },
  },
  samples: {
    spheres: {
      name: "Silica spheres",
      thickness_mm: 1,
      transmission: 0.78,
      model: {
        kind: "spheres",
        radius_A: SPHERES.radius,
        sigmaLnR: 0,
        volumeFraction: SPHERES.volumeFraction,
        contrast_1A2: SPHERES.contrast,
        background_1cm: BACKGROUND,
      },
    },
  },
  cell: { transmission: 0.93, yield_1sr: 0.002, power: 2 },
  runs: [
    { file: "direct.h5", title: "", kind: "direct", time_s: 1200, attenuation: 0.004 },
    { file: "blocked.h5", title: "", kind: "blocked", time_s: 600 },
    { file: "flood.h5", title: "", kind: "flood", time_s: 4 * 3600, floodRate_1s: 0.5 },
    { file: "cell.h5", title: "", kind: "scattering", inCell: true, time_s: 300 },
    { file: "cell-direct.h5", title: "", kind: "direct", inCell: true, time_s: 1200, attenuation: 0.004 },
    { file: "spheres.h5", title: "", kind: "scattering", sample: "spheres", inCell: true, time_s: 120 },
    {
      file: "spheres-direct.h5",
      title: "",
      kind: "direct",
      sample: "spheres",
      inCell: true,
      time_s: 1200,
      attenuation: 0.004,
    },
  ],
};

export const EXPERIMENT_PLAN: Plan = {
  planVersion: 1,
  runs: {
    sample: "spheres.h5",
    sampleTransmission: "spheres-direct.h5",
    emptyCell: "cell.h5",
    emptyCellTransmission: "cell-direct.h5",
    emptyBeam: "direct.h5",
    blockedBeam: "blocked.h5",
    flood: "flood.h5",
  },
  beamCentre: { method: "given" },
  mask: {
    auto: ["hot"],
    edge_px: 1,
    shapes: [{ kind: "circle", x: 46.9, y: 48, r: 4.5 }],
  },
  corrections: {
    deadTime: { model: "non-paralysable", tau_s: DEAD_TIME, per: "bank" },
    blockedBeam: { scaleBy: "time" },
    normaliseBy: "monitor",
    transmission: { sample: "measure", emptyCell: "measure", obliquePath: true },
    solidAngle: "exact",
    flood: { smooth_px: 0 },
    absolute: { method: "direct-beam", directBeamRadius_px: 5 },
    background_1cm: BACKGROUND,
  },
  // From the stop to short of the first minimum, which smearing fills, in bins wide against a pixel's step.
  averages: [{ id: "radial", kind: "radial", bins: { spacing: "linear", count: 36, qMin: 0.011, qMax: 0.083 } }],
};

/** Every run of one experiment, drawn from expected counts as often as asked. */
export class SimulatedExperiment {
  readonly #runs: readonly SceneRun[];
  readonly #files: readonly SimulatedFile[];

  constructor() {
    const scene = checkScene(SCENE);
    if (!scene.ok) throw new Error(scene.fault.message);
    this.#runs = scene.value.runs;
    this.#files = simulateScene(scene.value, 5).files;
  }

  /** Expected counts themselves; `longer`: times as long. */
  expected(longer = 1): Record<string, RunParts> {
    return this.#parts((mean) => mean, longer);
  }

  drawn(seed: number, longer = 1): Record<string, RunParts> {
    return this.#parts(poissonSource(seed), longer);
  }

  #parts(draw: (mean: number) => number, longer: number): Record<string, RunParts> {
    return Object.fromEntries(
      this.#files.map(({ name, mean, monitorCounts }, i) => {
        const run = this.#runs[i]!;
        const metadata: RunMetadata = {
          wavelength: inFile(6),
          wavelengthSpread: inFile(0.02),
          distance: inFile(4),
          pixelSize: inFile([0.008, 0.008]),
          beamCentre: inFile([46.7, 48.2]),
          sourceAperture: inFile(0.01),
          sampleAperture: inFile(0.006),
          collimation: inFile(6),
          countTime: inFile(run.time_s * longer),
          monitorCounts: inFile(monitorCounts * longer),
          ...(run.attenuation !== undefined && { attenuation: inFile(run.attenuation) }),
          ...(run.sample !== undefined && { thickness: inFile(1e-3) }),
        };
        return [name, { width: SIDE, height: SIDE, counts: mean.map((value) => draw(value * longer)), metadata }];
      }),
    );
  }
}

export async function reduceExperiment(files: Record<string, RunParts>, plan = EXPERIMENT_PLAN): Promise<Reduction> {
  const reduced = await reducePlan(plan, memorySource(files), { signal: new AbortController().signal, version: "1" });
  if (!reduced.ok) throw new Error(`${reduced.fault.field}: ${reduced.fault.message}`);
  return reduced.value;
}
