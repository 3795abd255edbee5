import { describe, expect, it } from "vitest";
import { waveNumber } from "../../../core/geometry/constants.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import type { RunMetadata } from "../../../core/model/metadata.ts";
import type { Plan } from "../../../core/model/plan.ts";
import { reducePlan } from "../../../core/plan/execute.ts";
import type { Reduction } from "../../../core/plan/reduction.ts";
import { poissonSource } from "../../support/random.ts";
import { inFile, memorySource, type RunParts } from "../../support/run-builder.ts";

const SIDE = 64;
const BEAM = { x: 30.4, y: 33.2 };
const signal = new AbortController().signal;
const camera: RunMetadata = {
  wavelength: inFile(6),
  distance: inFile(4),
  pixelSize: inFile([0.005, 0.005]),
  monitorCounts: inFile(1e6),
};

/** Counts that depend on the distance from the beam, in px. */
function radialFrame(
  level: (r: number, x: number, y: number) => number,
  seed: number,
  metadata: RunMetadata = camera,
): RunParts {
  const draw = poissonSource(seed);
  const counts = Float64Array.from({ length: SIDE * SIDE }, (_, p) => {
    const [x, y] = [p % SIDE, Math.floor(p / SIDE)];
    return draw(level(Math.hypot(x - BEAM.x, y - BEAM.y), x, y));
  });
  return { width: SIDE, height: SIDE, counts, metadata };
}

const halo = (r: number) => 4000 / (1 + (r / 8) ** 2) + 20;
/** Part of a pixel that a round stop at (31, 33) of radius 5 leaves open. */
function openFraction(x: number, y: number): number {
  let open = 0;
  for (let j = 0; j < 8; j++)
    for (let i = 0; i < 8; i++) if (Math.hypot(x + (i - 3.5) / 8 - 31, y + (j - 3.5) / 8 - 33) >= 5) open++;
  return Math.max(0.001, open / 64);
}

const files: Record<string, RunParts> = {
  "halo.npy": radialFrame(halo, 1),
  "stop.npy": radialFrame((r, x, y) => halo(r) * openFraction(x, y), 2),
  "direct.npy": radialFrame((r) => 5000 * Math.exp((-r * r) / 6) + 0.01, 3),
  "ring.npy": radialFrame((r) => 5 + 400 * Math.exp(-((r - 20) ** 2) / 3), 4),
};

async function reduce(
  plan: Omit<Plan, "planVersion">,
  masks: Parameters<typeof memorySource>[1] = {},
): Promise<Reduction> {
  const result = await reducePlan({ planVersion: 1, ...plan }, memorySource(files, masks), { signal, version: "1" });
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

describe("the beam centre of a plan", () => {
  // Q1 of a ring of 20 px of 5 mm at 4 m and 6 A: d = 2 pi / Q.
  const theta = Math.atan(0.1 / 4) / 2;
  const dSpacing = (2 * Math.PI) / (2 * waveNumber(6) * Math.sin(theta));
  it.each([
    ["direct-beam", { method: "direct-beam" }, { sample: "halo.npy", emptyBeam: "direct.npy" }],
    ["symmetry", { method: "symmetry" }, { sample: "halo.npy" }],
    ["rings", { method: "rings", dSpacing_A: dSpacing }, { sample: "ring.npy" }],
  ] as const)("is found by %s within its uncertainty, and says how", async (method, beamCentre, runs) => {
    const { beamCentre: found, ledger, geometry } = await reduce({ runs, beamCentre });
    expect(found.method).toBe(method);
    // 4 sigma, and 0.01 px for the sampling of the spot by pixels.
    expect(Math.abs(found.x - BEAM.x)).toBeLessThan(4 * found.xSigma! + 0.01);
    expect(Math.abs(found.y - BEAM.y)).toBeLessThan(4 * found.ySigma! + 0.01);
    expect(geometry.beamCentre).toEqual({ x: found.x, y: found.y });
    const entry = ledger.steps.find(({ step }) => step === "beamCentre")!;
    expect(entry.parameters).toMatchObject({ method, beamCentre_px: [found.x, found.y] });
  });

  it("that is given is taken as it is", async () => {
    const { beamCentre } = await reduce({
      runs: { sample: "halo.npy" },
      metadata: { all: { beamCentre_px: [1.5, -7] } },
    });
    expect(beamCentre).toEqual({ x: 1.5, y: -7, method: "given", from: "metadata.all.beamCentre_px" });
  });
});

describe("the mask of a plan", () => {
  const metadata = { all: { beamCentre_px: [BEAM.x, BEAM.y] as const } };
  it("joins shadow, edges, shapes and file, and keeps every reason", async () => {
    const masked = new Uint8Array(SIDE * SIDE);
    masked[0] = 1;
    masked[40 * SIDE + 40] = 255;
    const { maps, beamStop, ledger } = await reduce(
      {
        runs: { sample: "stop.npy" },
        metadata,
        mask: { auto: ["beam-stop"], edge_px: 1, file: "m.npy", shapes: [{ kind: "circle", x: 50, y: 10, r: 2 }] },
      },
      { "m.npy": { width: SIDE, height: SIDE, masked } },
    );
    expect(maps.mask[0]).toBe(MASK_REASONS.edge | MASK_REASONS.file);
    expect(maps.mask[40 * SIDE + 40]).toBe(MASK_REASONS.file);
    expect(maps.mask[10 * SIDE + 50]).toBe(MASK_REASONS.shape);
    expect(maps.mask[33 * SIDE + 31]).toBe(MASK_REASONS.beamStop);
    expect(beamStop?.shape).toBe("circle");
    expect(Math.hypot(beamStop!.x - 31, beamStop!.y - 33)).toBeLessThan(0.3);
    expect(ledger.inputs.at(-1)).toMatchObject({ role: "mask", file: "m.npy", sha256: "hash of m.npy" });
    const entry = ledger.steps[0]!;
    // 4 x 63 pixels of edge, 13 within 2 px, one of the file inside.
    expect(entry.parameters["pixelsByReason"]).toMatchObject({ edge: 252, shape: 13, file: 2 });
    expect(entry.sources).toEqual({
      auto: "mask.auto",
      edge_px: "mask.edge_px",
      shapes: "mask.shapes",
      file: "mask.file",
    });
  });

  it("says where no stop shows", async () => {
    const { warnings, beamStop } = await reduce({
      runs: { sample: "ring.npy" },
      metadata,
      mask: { auto: ["beam-stop"] },
    });
    expect(beamStop === undefined).toBe(warnings.some((text) => text.startsWith("no beam stop is masked")));
  });

  it("of another size is refused with both sizes", async () => {
    const plan: Plan = { planVersion: 1, runs: { sample: "halo.npy" }, metadata, mask: { file: "m.npy" } };
    const source = memorySource(files, { "m.npy": { width: 8, height: 4, masked: new Uint8Array(32) } });
    const result = await reducePlan(plan, source, { signal, version: "1" });
    expect(!result.ok && result.fault.message).toContain("the frame is 64 x 64; the mask m.npy is 8 x 4");
    expect(!result.ok && result.fault.field).toBe("mask.file");
  });
});

describe("gravity on request", () => {
  const optics = {
    beamCentre_px: [BEAM.x, BEAM.y] as const,
    collimation_m: 10,
    wavelengthSpread: 0.1,
    sourceAperture_mm: 20,
    sampleAperture_mm: 10,
    distance_m: 10,
  };
  it("moves a centre that was found at another wavelength by the difference of the falls", async () => {
    const { beamCentre, ledger } = await reduce({
      runs: { sample: "halo.npy", emptyBeam: "direct.npy" },
      metadata: { all: optics, sample: { wavelength_A: 18 }, emptyBeam: { wavelength_A: 6 } },
      beamCentre: { method: "direct-beam" },
      corrections: { gravity: true, normaliseBy: "none" },
    });
    // 18 A falls 20.3023192 mm, 6 A 2.25581325 mm over 10 + 10 m: 18.046506 mm = 3.6093 px lower.
    expect(beamCentre.y).toBeCloseTo(BEAM.y - 3.6093012, 1);
    const { shift_px: shift, drop_mm: drop } = ledger.steps.find(({ step }) => step === "gravity")!
      .parameters as Record<string, unknown>;
    expect((shift as number[])[1]).toBeCloseTo(-3.6093012, 5);
    expect(drop).toBeCloseTo(20.3023192, 6);
  });

  it("leaves the centre where it was found at the sample's wavelength, and widens the resolution", async () => {
    const plan = { runs: { sample: "halo.npy" }, metadata: { all: { ...optics, wavelength_A: 18 } } };
    const [with_, without] = [await reduce({ ...plan, corrections: { gravity: true } }), await reduce(plan)];
    expect(with_.beamCentre).toEqual(without.beamCentre);
    const [a, b] = [with_.curves[0]!.qSigma!, without.curves[0]!.qSigma!];
    // sigma_y = 2 x 20.3 mm x 0.1/sqrt 6; half of its square, as an angle, times k^2.
    const added = ((waveNumber(18) * 2 * 0.0203023192 * 0.1) / Math.sqrt(6) / 10) ** 2 / 2;
    // A ring of whole pixels, cut by the frame's edge far out, has not quite as many above and below as beside.
    for (const [k, pixels] of with_.curves[0]!.pixels.entries())
      if (pixels > 40) expect(Math.abs((a[k]! ** 2 - b[k]! ** 2) / added - 1)).toBeLessThan(0.25);
    const sums = [a, b].map((sigma) => sigma.reduce((sum, s, k) => sum + s * s * with_.curves[0]!.pixels[k]!, 0));
    const pixels = with_.curves[0]!.pixels.reduce((sum, n) => sum + n, 0);
    expect(Math.abs((sums[0]! - sums[1]!) / pixels / added - 1)).toBeLessThan(0.01);
    expect(with_.curves[0]!.intensity).toEqual(without.curves[0]!.intensity);
  });

  it("blurs by direction: all of it up and down, nothing sideways", async () => {
    const averages: Plan["averages"] = [
      {
        id: "up",
        kind: "sector",
        centre_deg: 90,
        halfWidth_deg: 8,
        mirrored: true,
        bins: { spacing: "linear", count: 4 },
      },
      {
        id: "side",
        kind: "sector",
        centre_deg: 0,
        halfWidth_deg: 8,
        mirrored: true,
        bins: { spacing: "linear", count: 4 },
      },
      { id: "column", kind: "box", axis: "y", halfWidth_1A: 0.003, bins: { spacing: "linear", count: 4 } },
      { id: "row", kind: "box", axis: "x", halfWidth_1A: 0.003, bins: { spacing: "linear", count: 4 } },
    ];
    const plan = { runs: { sample: "halo.npy" }, metadata: { all: { ...optics, wavelength_A: 18 } }, averages };
    const [with_, without] = [await reduce({ ...plan, corrections: { gravity: true } }), await reduce(plan)];
    const full = ((waveNumber(18) * 2 * 0.0203023192 * 0.1) / Math.sqrt(6) / 10) ** 2;
    const share = (k: number) =>
      Array.from(with_.curves[k]!.qSigma!, (a, b) => (a ** 2 - without.curves[k]!.qSigma![b]! ** 2) / full);
    // Over +-8 deg the mean of cos^2 is at least cos^2(8 deg) = 0.98.
    for (const part of share(0)) expect(Math.abs(part - 0.99)).toBeLessThan(0.011);
    for (const part of share(1)) expect(Math.abs(part - 0.01)).toBeLessThan(0.011);
    for (const part of share(2)) expect(part).toBeCloseTo(1, 6);
    for (const part of share(3)) expect(part).toBeCloseTo(0, 6);
  });

  it("needs the collimation length", async () => {
    const plan: Plan = {
      planVersion: 1,
      runs: { sample: "halo.npy" },
      metadata: { all: { beamCentre_px: [1, 1] } },
      corrections: { gravity: true },
    };
    const result = await reducePlan(plan, memorySource(files), { signal, version: "1" });
    expect(!result.ok && result.fault.field).toBe("metadata.all.collimation_m");
  });
});

describe("the resolution that a plan asks for", () => {
  const optics = {
    beamCentre_px: [BEAM.x, BEAM.y] as const,
    collimation_m: 8,
    sourceAperture_mm: 20,
    sampleAperture_mm: 10,
    distance_m: 8,
    wavelength_A: 6,
  };
  const entryOf = ({ ledger }: Reduction) => ledger.steps.find(({ step }) => step === "resolution")!;

  it("by the time of flight needs no spread, and is in ledger and curve", async () => {
    const timeOfFlight = { path_m: 24, path_mm_sigma: 10, emission_us_sigma: 100, channelWidth: 0.01 };
    const plan = { runs: { sample: "halo.npy" }, metadata: { all: optics } };
    const timed = await reduce({ ...plan, resolution: { timeOfFlight } });
    expect(entryOf(timed).parameters["wavelength_relative_sigma"]).toBeCloseTo(0.00400678227001, 10);
    const spread = { ...plan, metadata: { all: { ...optics, wavelengthSpread: 0.00400678227001 * Math.sqrt(6) } } };
    const alike = await reduce(spread);
    for (const [b, value] of timed.curves[0]!.qSigma!.entries())
      expect(value).toBeCloseTo(alike.curves[0]!.qSigma![b]!, 10);
    expect((await reduce(plan)).curves[0]!.qSigma).toBeUndefined();
  });

  it("by full widths or another law says so", async () => {
    const plan = { runs: { sample: "halo.npy" }, metadata: { all: { ...optics, wavelengthSpread: 0.1 } } };
    const [moments, widths, flat] = [
      await reduce(plan),
      await reduce({ ...plan, resolution: { method: "full-widths" } }),
      await reduce({ ...plan, resolution: { wavelengthLaw: "rectangular" } }),
    ] as const;
    expect(entryOf(moments).parameters).toMatchObject({
      method: expect.stringContaining("second moments of apertures"),
      wavelengthLaw: "triangular",
    });
    expect(entryOf(widths).parameters["method"]).toContain("full widths");
    expect(widths.curves[0]!.qSigma![0]! / moments.curves[0]!.qSigma![0]!).toBeLessThan(0.97);
    expect(entryOf(flat).parameters["wavelength_relative_sigma"]).toBeCloseTo(0.1 / Math.sqrt(12), 12);
  });
});

it("a resolution that is not known is absent, and the ledger says why", async () => {
  const { curves, ledger } = await reduce({
    runs: { sample: "halo.npy" },
    metadata: { all: { beamCentre_px: [BEAM.x, BEAM.y] } },
  });
  expect(curves[0]!.qSigma).toBeUndefined();
  const entry = ledger.steps.find(({ step }) => step === "resolution")!;
  expect(entry.status).toBe("not applied");
  expect(entry.reason).toContain("collimation length");
});

it("pixels that differ more than counting explains are told of", async () => {
  const skew = {
    ...files["halo.npy"]!,
    counts: (files["halo.npy"]!.counts as Float64Array).map((c, p) => (p % SIDE < 32 ? c : 2 * c)),
  };
  const plan: Plan = {
    planVersion: 1,
    runs: { sample: "skew.npy" },
    metadata: { all: { beamCentre_px: [BEAM.x, BEAM.y] } },
  };
  const even = await reduce({
    runs: { sample: "halo.npy" },
    metadata: plan.metadata,
    averages: [{ id: "r", kind: "radial", bins: { spacing: "linear" } }],
  });
  const odd = await reducePlan(plan, memorySource({ "skew.npy": skew }), { signal, version: "1" });
  const text = "scatter up to";
  expect(odd.ok && odd.value.warnings.some((warning) => warning.includes(text))).toBe(true);
  const tail = even.warnings.filter((warning) => warning.includes(text));
  // The steep middle of the halo changes within a bin; its edge does not.
  expect(tail.length).toBeLessThanOrEqual(1);
});

it("does not take the fall of the intensity across a wide annulus for scatter", async () => {
  const { warnings } = await reduce({
    runs: { sample: "halo.npy" },
    metadata: { all: { beamCentre_px: [BEAM.x, BEAM.y] } },
    averages: [{ id: "wide", kind: "annulus", qMin: 0.005, qMax: 0.03 }],
  });
  expect(warnings.filter((warning) => warning.includes("wide"))).toEqual([]);
});
