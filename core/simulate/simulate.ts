import type { Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";
import { type CrossSection, radialTable, sampleCrossSection, smeared, type TabulatedSection } from "./cross-section.ts";
import { addAmbient, expectedFrame, floodFrame, liveFraction, responseMap } from "./expected-frame.ts";
import { type RandomSource, randomSource } from "./random.ts";
import { runFile } from "./run-file.ts";
import type { Scene, SceneCamera, SceneRun } from "./scene.ts";
import { stopTransmission } from "./stop.ts";
import { sceneTruth } from "./truth.ts";

export interface SimulatedFile {
  readonly name: string;
  readonly tree: Hdf5TreeGroup;
  readonly counts: Uint32Array;
  /** Expected counts of each pixel, dead time included. */
  readonly mean: Float64Array;
  readonly monitorCounts: number;
}

export interface Simulation {
  readonly files: readonly SimulatedFile[];
  /** The JSON of truth.json: what a reduction must find again. */
  readonly truth: unknown;
}

/**
 * Takes every run of a scene: expected counts from first principles, then Poisson counts from a seeded generator.
 *
 * @param seed       whole number > 0; the same seed gives the same frames
 * @param onProgress done and all runs
 */
export function simulateScene(
  scene: Scene,
  seed: number,
  onProgress: (done: number, all: number) => void = () => {},
): Simulation {
  const random = randomSource(seed);
  const response = responseMap(scene.camera, random);
  const qMax = largestQ(scene.camera);
  const sections = new Map(
    Object.entries(scene.samples).map(([key, sample]) => [key, sampleCrossSection(sample, qMax)] as const),
  );
  const yields = new YieldTables(scene, sections, qMax);
  const files = scene.runs.map((run, index) => {
    const beamLevel = 1 + 0.03 * random.normal();
    const mean = meanCounts(scene, run, response, beamLevel, yields);
    const file = takeRun(scene, run, index, mean, beamLevel, random);
    onProgress(index + 1, scene.runs.length);
    return file;
  });
  return { files, truth: sceneTruth(scene, seed, sections) };
}

function meanCounts(
  scene: Scene,
  run: SceneRun,
  response: Float64Array,
  beamLevel: number,
  yields: YieldTables,
): Float64Array {
  const { camera } = scene;
  if (run.kind === "blocked") {
    const mean = new Float64Array(camera.width * camera.height);
    addAmbient(mean, camera, response, run.time_s);
    return mean;
  }
  if (run.kind === "flood") return floodFrame(camera, response, run.floodRate_1s ?? 0, run.time_s);
  return expectedFrame({
    camera,
    response,
    time_s: run.time_s,
    beamLevel,
    attenuation: run.attenuation ?? 1,
    stop:
      run.kind === "direct"
        ? undefined
        : stopTransmission(camera.stop, camera.pixelSize_mm, run.stopOffset_px ?? [0, 0]),
    yieldPerSr: yields.of(run),
    transmission: runTransmission(scene, run),
  });
}

function takeRun(
  scene: Scene,
  run: SceneRun,
  index: number,
  mean: Float64Array,
  beamLevel: number,
  random: RandomSource,
): SimulatedFile {
  const { camera } = scene;
  const live = liveFraction(mean, run.time_s, camera.deadTime_s);
  const registered = mean.map((value) => value * live);
  const counts = Uint32Array.from(registered, (value) => random.poisson(value));
  // The monitor stands before the attenuator and sees the beam of the moment.
  const monitorCounts = random.poisson(camera.monitorRate_1s * beamLevel * run.time_s);
  // An invented night of beam: a run every half hour.
  const start = new Date(Date.UTC(2031, 2, 14, 20, 0, 0) + index * 1_800_000).toISOString();
  const tree = runFile({
    camera,
    run,
    sample: run.sample === undefined ? undefined : scene.samples[run.sample],
    runNumber: 4101 + index,
    startTime: start,
    counts,
    monitorCounts,
  });
  return { name: run.file, tree, counts, mean: registered, monitorCounts };
}

/** Transmission of all that stands in the beam. */
function runTransmission(scene: Scene, run: SceneRun): number {
  const sample = run.sample === undefined ? 1 : (scene.samples[run.sample]?.transmission ?? 1);
  return sample * (run.inCell === true ? scene.cell.transmission : 1);
}

/** Yield per steradian of what stands in the beam, seen through the instrument; computed once for each combination. */
class YieldTables {
  readonly #scene: Scene;
  readonly #sections: ReadonlyMap<string, TabulatedSection>;
  readonly #qMax: number;
  readonly #qSigma: number;
  readonly #known = new Map<string, CrossSection>();

  constructor(scene: Scene, sections: ReadonlyMap<string, TabulatedSection>, qMax: number) {
    this.#scene = scene;
    this.#sections = sections;
    this.#qMax = qMax;
    this.#qSigma = apertureSigma(scene.camera);
  }

  of(run: SceneRun): CrossSection {
    const key = `${run.sample ?? ""}/${run.inCell === true}`;
    const known = this.#known.get(key) ?? this.#make(run);
    this.#known.set(key, known);
    return known;
  }

  #make(run: SceneRun): CrossSection {
    const { cell, samples, camera } = this.#scene;
    const sample = run.sample === undefined ? undefined : samples[run.sample];
    const section = run.sample === undefined ? undefined : this.#sections.get(run.sample);
    const thickness_cm = (sample?.thickness_mm ?? 0) / 10;
    const ofCell: CrossSection =
      run.inCell === true
        ? (qx, qy) => cell.yield_1sr * (Math.max(3e-3, Math.hypot(qx, qy)) / 0.02) ** -cell.power
        : () => 0;
    const bare: CrossSection = (qx, qy) =>
      (section === undefined ? 0 : thickness_cm * section.at(qx, qy)) + ofCell(qx, qy);
    const seen = smeared(bare, this.#qSigma, camera.wavelengthSpread);
    return section === undefined || section.isRadial ? radialTable((q) => seen(q, 0), this.#qMax) : seen;
  }
}

/** Standard deviation in Qx and in Qy from the two apertures: second moments R^2/4 of a disc. */
function apertureSigma(camera: SceneCamera): number {
  const k = (2 * Math.PI) / camera.wavelength_A;
  const [r1, r2] = [camera.sourceAperture_mm * 5e-4, camera.sampleAperture_mm * 5e-4];
  const [l1, l2] = [camera.collimation_m, camera.distance_m];
  return k * Math.hypot(r1 / (2 * l1), (r2 / 2) * (1 / l1 + 1 / l2));
}

/** |Q| beyond the farthest corner, with room for smearing. */
function largestQ(camera: SceneCamera): number {
  const k = (2 * Math.PI) / camera.wavelength_A;
  const reach = Math.hypot(camera.width * camera.pixelSize_mm[0], camera.height * camera.pixelSize_mm[1]) * 1e-3;
  return 1.3 * 2 * k * Math.sin(Math.atan2(reach, camera.distance_m) / 2);
}
