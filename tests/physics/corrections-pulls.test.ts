import { describe, expect, it } from "vitest";
import { commonRelativeSigma } from "../../core/model/estimate.ts";
import type { RunMetadata } from "../../core/model/metadata.ts";
import type { Plan } from "../../core/model/plan.ts";
import { commonSigmas } from "../../core/plan/common-uncertainty.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { poissonSource, uniformSource } from "../support/random.ts";
import { inFile, memorySource, type RunParts } from "../support/run-builder.ts";

/**
 * A whole experiment drawn again and again: every run from its expected counts, by trigonometry and not by core's maps.
 * The sample scatters `section` 1/cm everywhere, so every bin has the same truth.
 */
const SIDE = 16;
const [CX, CY, PITCH, DISTANCE] = [7.3, 8.1, 0.02, 2];
const CAMERA = {
  beam: 4e6,
  monitor: 1e5,
  ambient: 0.5,
  tSample: 0.6,
  tCell: 0.9,
  cellYield: 0.03,
  section: 1,
  thicknessCm: 0.1,
  attenuator: 1e-3,
};
const TIMES = { sample: 3, emptyCell: 4, blockedBeam: 6, flood: 25, beam: 20 };

const uniform = uniformSource(99);
const eta = Float64Array.from({ length: SIDE * SIDE }, () => 0.8 + 0.4 * uniform());

interface Pixel {
  readonly omega: number;
  readonly sec: number;
  readonly spot: number;
}
const pixels: readonly Pixel[] = Array.from({ length: SIDE * SIDE }, (_, p) => {
  const [x, y] = [((p % SIDE) - CX) * PITCH, (Math.floor(p / SIDE) - CY) * PITCH];
  const twoTheta = Math.atan2(Math.hypot(x, y), DISTANCE);
  return {
    omega: (PITCH / DISTANCE) ** 2 * Math.cos(twoTheta) ** 3,
    sec: 1 / Math.cos(twoTheta),
    spot: Math.exp(-(x * x + y * y) / (2 * PITCH * PITCH)),
  };
});
const spotSum = pixels.reduce((sum, { spot }) => sum + spot, 0);

/** Mean of T^(z + (1 - z) sec) over the depth, by its midpoints. */
function slab(transmission: number, sec: number): number {
  let sum = 0;
  for (let i = 0; i < 50; i++) sum += transmission ** (1 + (1 - (i + 0.5) / 50) * (sec - 1));
  return sum / 50;
}

type Kind = "sample" | "emptyCell" | "blockedBeam" | "flood" | "open" | "throughSample" | "throughCell";

const expected: Readonly<Record<Kind, Float64Array>> = (() => {
  const { beam, ambient, tSample, tCell, cellYield, section, thicknessCm, attenuator } = CAMERA;
  const map = (time: number, of: (pixel: Pixel) => number) =>
    Float64Array.from(pixels, (pixel, p) => time * (eta[p]! * of(pixel) + ambient));
  const direct = (transmission: number) =>
    map(TIMES.beam, ({ spot }) => (beam * attenuator * transmission * spot) / spotSum);
  return {
    sample: map(
      TIMES.sample,
      ({ omega, sec }) => beam * omega * slab(tSample, sec) * (section * thicknessCm + cellYield),
    ),
    emptyCell: map(TIMES.emptyCell, ({ omega, sec }) => beam * omega * slab(tCell, sec) * cellYield),
    blockedBeam: map(TIMES.blockedBeam, () => 0),
    flood: map(TIMES.flood, ({ omega }) => 2e5 * omega),
    open: direct(1),
    throughSample: direct(tSample),
    throughCell: direct(tCell),
  };
})();

function drawRun(kind: Kind, time: number, draw: (mean: number) => number): RunParts {
  const metadata: RunMetadata = {
    wavelength: inFile(6),
    distance: inFile(DISTANCE),
    pixelSize: inFile([PITCH, PITCH]),
    beamCentre: inFile([CX, CY]),
    countTime: inFile(time),
    monitorCounts: inFile(time * CAMERA.monitor),
    attenuation: inFile(time === TIMES.beam && kind !== "emptyCell" ? CAMERA.attenuator : 1),
    ...(kind === "sample" && { thickness: inFile(CAMERA.thicknessCm / 100) }),
  };
  return { width: SIDE, height: SIDE, counts: Float64Array.from(expected[kind], (mean) => draw(mean)), metadata };
}

function drawAll(seed: number, exact: ReadonlySet<Kind> = new Set()): Record<string, RunParts> {
  const draw = poissonSource(seed);
  const of = (kind: Kind, time: number) => drawRun(kind, time, exact.has(kind) ? (mean) => mean : draw);
  return {
    sample: of("sample", TIMES.sample),
    cell: of("emptyCell", TIMES.emptyCell),
    blocked: of("blockedBeam", TIMES.blockedBeam),
    flood: of("flood", TIMES.flood),
    open: of("open", TIMES.beam),
    through: of("throughSample", TIMES.beam),
    throughCell: of("throughCell", TIMES.beam),
  };
}

const plan: Plan = {
  planVersion: 1,
  runs: {
    sample: "sample",
    emptyCell: "cell",
    blockedBeam: "blocked",
    flood: "flood",
    emptyBeam: "open",
    sampleTransmission: "through",
    emptyCellTransmission: "throughCell",
  },
  corrections: {
    transmission: { sample: "measure", emptyCell: "measure", obliquePath: true, radius_px: 5 },
    solidAngle: "cosine-cubed",
    absolute: { method: "direct-beam", directBeamRadius_px: 5 },
  },
  averages: [{ id: "radial", kind: "radial", bins: { spacing: "linear", count: 5 } }],
};
const signal = new AbortController().signal;

async function reduce(files: Record<string, RunParts>, wanted = plan): Promise<Reduction> {
  const result = await reducePlan(wanted, memorySource(files), { signal, version: "1" });
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

/** sqrt(sum W^2 r) over the pixels of a radial bin of the plan; r, relative variance by the flood. */
function floodShare({ estimate, maps }: Reduction, bin: number): number {
  const unmasked = Array.from(maps.q.keys()).filter((p) => maps.mask[p] === 0);
  const q = unmasked.map((p) => maps.q[p]!);
  const [low, high] = [Math.min(...q), Math.max(...q)];
  let sum = 0;
  for (const p of unmasked) {
    if (Math.min(4, Math.floor((5 * (maps.q[p]! - low)) / (high - low))) !== bin) continue;
    sum += estimate.norm[p]! ** 2 * estimate.normRelativeVariance![p]!;
  }
  return Math.sqrt(sum);
}

function moments(values: readonly number[]): { readonly mean: number; readonly width: number } {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  return { mean, width: Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1)) };
}

describe("a whole experiment, drawn again and again", () => {
  it("comes back exactly where every run holds its expected counts", async () => {
    const all = new Set(Object.keys(expected) as Kind[]);
    const { curves, transmission } = await reduce(drawAll(1, all));
    expect(transmission.sample!.value).toBeCloseTo(CAMERA.tSample, 9);
    // The spot's counts beyond 5 px (1e-5 of it) and the sum over depths by 50 midpoints.
    for (const value of curves[0]!.intensity) expect(Math.abs(value - CAMERA.section)).toBeLessThan(3e-5);
  });

  it("scatters by its counting sigma where transmissions and scale are given", async () => {
    const pulls: number[] = [];
    const meanEta = eta.reduce((sum, value) => sum + value, 0) / eta.length;
    const factor = CAMERA.monitor / (CAMERA.beam * meanEta);
    const given: Plan = {
      ...plan,
      corrections: {
        ...plan.corrections,
        transmission: { sample: CAMERA.tSample, emptyCell: CAMERA.tCell, obliquePath: true },
        absolute: { method: "factor", value: factor },
      },
    };
    for (let i = 0; i < 300; i++) {
      const { intensity, sigma } = (await reduce(drawAll(100 + i), given)).curves[0]!;
      for (let b = 0; b < intensity.length; b++) pulls.push((intensity[b]! - CAMERA.section) / sigma[b]!);
    }
    const { mean, width } = moments(pulls);
    // 1500 pulls: mean within 4/sqrt(1500) = 0.103, width within 4/sqrt(3000) = 0.073. The mean of the flood, known to
    // 0.3 %, moves all bins together: 0.2 sigma of a bin, or 0.02 in the width.
    expect(Math.abs(mean)).toBeLessThan(0.11);
    expect(Math.abs(width - 1)).toBeLessThan(0.095);
  });

  it("moves by what the flood scatters, bin by bin and as a whole, where only the flood is drawn", async () => {
    const exact = new Set((Object.keys(expected) as Kind[]).filter((kind) => kind !== "flood"));
    const truth = await reduce(drawAll(1, new Set(Object.keys(expected) as Kind[])));
    const scaleOf = ({ estimate }: Reduction) => estimate.common.find(({ name }) => name === "absolute")!.value;
    // The outermost bin, which shares no pixel with the direct beam. Sample and cell are divided by the same flood.
    const last = truth.curves[0]!.intensity.length - 1;
    const [scales, points, twice]: [number[], number[], number[]] = [[], [], []];
    for (let i = 0; i < 400; i++) {
      const drawn = await reduce(drawAll(9000 + i, exact));
      const ofScale = drawn.estimate.common.find(({ name }) => name === "flood at the direct beam")!.relativeSigma!;
      const { intensity, norm, bin, cell } = drawn.curves[0]!;
      const ofBin = floodShare(drawn, bin[last]!) / norm[last]!;
      const moved = Math.log(intensity[last]! / truth.curves[0]!.intensity[last]!);
      scales.push(Math.log(scaleOf(drawn) / scaleOf(truth)) / ofScale);
      points.push(moved / Math.hypot(ofBin, ofScale));
      const [i0, c] = [intensity[last]!, cell![last]!];
      twice.push(moved / Math.hypot((ofBin * Math.hypot(i0 + c, c)) / i0, ofScale));
    }
    // 400 pulls: mean within 4/sqrt(400), width within 4/sqrt(800) = 0.14.
    for (const { mean, width } of [moments(scales), moments(points)]) {
      expect(Math.abs(mean)).toBeLessThan(0.2);
      expect(Math.abs(width - 1)).toBeLessThan(0.14);
    }
    // Taken as two floods, one for the sample and one for the cell, it would be too large.
    expect(moments(twice).width).toBeLessThan(0.97 * moments(points).width);
  });

  it("moves as a whole by its common sigma where only transmissions and scale are drawn", async () => {
    // Without the flood, whose scatter within the direct beam is not drawn here; uneven pixels are then left in, so
    // that draws are compared with the exact runs.
    const { emptyCell: _cell, emptyCellTransmission: _through, flood: _flood, ...runs } = plan.runs;
    const transmission = { sample: "measure", radius_px: 5 } as const;
    const even: Plan = { ...plan, runs, corrections: { ...plan.corrections, transmission } };
    const exact = new Set<Kind>(["sample", "emptyCell", "blockedBeam", "flood"]);
    const truth = await reduce(drawAll(1, new Set(Object.keys(expected) as Kind[])), even);
    const pulls: number[] = [];
    const independent: number[] = [];
    for (let i = 0; i < 400; i++) {
      const { curves, estimate } = await reduce(drawAll(3000 + i, exact), even);
      const moved = Math.log(curves[0]!.intensity[2]! / truth.curves[0]!.intensity[2]!);
      pulls.push(moved / commonRelativeSigma(estimate.common)!);
      const apart = estimate.common.map(({ shared: _, ...factor }) => factor);
      independent.push(moved / commonRelativeSigma(apart)!);
    }
    const { mean, width } = moments(pulls);
    // 400 pulls: mean within 4/sqrt(400), width within 4/sqrt(800) = 0.14. The monitors (1/sqrt(M) = 0.2 %) and the
    // blocked beam are not drawn, which narrows the width by some hundredths.
    expect(Math.abs(mean)).toBeLessThan(0.2);
    expect(width).toBeGreaterThan(0.8);
    expect(width).toBeLessThan(1.14);
    // Taken as independent, the two shares of the empty beam make the sigma too large.
    expect(moments(independent).width).toBeLessThan(0.75);
  });

  it("moves point by point by its common sigma where a cell is taken off", async () => {
    const { flood: _flood, ...runs } = plan.runs;
    const transmission = { sample: "measure", emptyCell: "measure", radius_px: 5 } as const;
    const even: Plan = { ...plan, runs, corrections: { ...plan.corrections, transmission } };
    const exact = new Set<Kind>(["sample", "emptyCell", "blockedBeam", "flood"]);
    const truth = (await reduce(drawAll(1, new Set(Object.keys(expected) as Kind[])), even)).curves[0]!;
    const pulls: number[] = [];
    const withoutCell: number[] = [];
    for (let i = 0; i < 400; i++) {
      const { curves, estimate } = await reduce(drawAll(7000 + i, exact), even);
      const moved = curves[0]!.intensity[2]! - truth.intensity[2]!;
      pulls.push(moved / commonSigmas(curves[0]!, estimate)![2]!);
      withoutCell.push(moved / (curves[0]!.intensity[2]! * commonRelativeSigma(estimate.common)!));
    }
    const { mean, width } = moments(pulls);
    // As above: 4/sqrt(400) and 4/sqrt(800).
    expect(Math.abs(mean)).toBeLessThan(0.2);
    expect(width).toBeGreaterThan(0.8);
    expect(width).toBeLessThan(1.14);
    // The cell scatters 0.3 of what the sample does: without it the sigma is too small.
    expect(moments(withoutCell).width).toBeGreaterThan(1.15 * width);
  });
});
