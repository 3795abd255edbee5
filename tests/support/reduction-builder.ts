import type { Curve, Profile } from "../../core/model/curve.ts";
import type { LedgerEntry } from "../../core/model/ledger.ts";
import { MASK_REASONS } from "../../core/model/mask.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { normalSource, poissonSource } from "./random.ts";

export const SEEDED_WIDTH = 48;
export const SEEDED_HEIGHT = 40;

function binColumns(intensity: readonly number[], random: (mean: number, sigma: number) => number) {
  const n = intensity.length;
  const values = Float64Array.from(intensity, (mean) => mean + random(0, 0.03 * Math.abs(mean)));
  return {
    intensity: values,
    sigma: values.map((v) => 0.03 * Math.abs(v) + 1e-9 / 3),
    pixels: Float64Array.from({ length: n }, (_, b) => 3 + b),
    counts: Float64Array.from({ length: n }, (_, b) => 1000 + 7 * b),
    norm: new Float64Array(n).fill(1 / 7),
    scatterSigma: values.map((v) => 0.031 * Math.abs(v)),
    chi2: new Float64Array(n).fill(1.02),
    zeroCounts: new Uint8Array(n),
    bin: Int32Array.from({ length: n }, (_, b) => b),
  };
}

/** A curve that falls like Guinier and Porod, with a little seeded noise. */
export function aCurve(changes: Partial<Curve> = {}): Curve {
  const random = normalSource(11);
  const q = Array.from({ length: 60 }, (_, b) => 0.004 * Math.exp((b / 59) * Math.log(0.25 / 0.004)));
  const intensity = q.map((v) => 12 * Math.exp(-((v * 40) ** 2) / 3) + 2e-6 / v ** 3 + 0.02);
  return {
    kind: "radial",
    id: "radial",
    unit: "1/cm",
    q: Float64Array.from(q),
    qSigma: Float64Array.from(q, (v) => Math.hypot(0.0011, 0.045 * v)),
    ...binColumns(intensity, random),
    ...changes,
  };
}

/** I(phi) with a strong second harmonic. */
export function aProfile(changes: Partial<Profile> = {}): Profile {
  const random = normalSource(12);
  const phi = Array.from({ length: 72 }, (_, b) => ((b + 0.5) / 72) * 2 * Math.PI);
  return {
    kind: "annulus",
    id: "ring",
    unit: "1/cm",
    phi: Float64Array.from(phi),
    qMin: 0.02,
    qMax: 0.03,
    ...binColumns(
      phi.map((p) => 2 + Math.cos(2 * (p - 0.4))),
      random,
    ),
    ...changes,
  };
}

function step(key: string, changes: Partial<LedgerEntry> = {}): LedgerEntry {
  return { step: key, status: "applied", parameters: {}, sources: {}, warnings: [], ...changes };
}

/** A small valid reduction with every field filled, changed per test. Seeded: the same numbers every time. */
export function aReduction(changes: Partial<Reduction> = {}): Reduction {
  const [width, height] = [SEEDED_WIDTH, SEEDED_HEIGHT];
  const draw = poissonSource(7);
  const centre = { x: 22.3, y: 18.7 };
  const size = width * height;
  const counts = new Uint32Array(size);
  const mask = new Uint16Array(size);
  const q = new Float64Array(size);
  const phi = new Float64Array(size);
  const intensity = new Float64Array(size);
  const sigma = new Float64Array(size);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const p = y * width + x;
      const [dx, dy] = [x - centre.x, y - centre.y];
      const rho = Math.hypot(dx, dy);
      q[p] = 0.0018 * rho;
      const angle = Math.atan2(dy, dx);
      phi[p] = angle < 0 ? angle + 2 * Math.PI : angle;
      const mean = 900 * Math.exp(-((rho / 9) ** 2)) * (1 + 0.6 * Math.cos(2 * angle)) + 3;
      counts[p] = rho < 3.5 ? 0 : draw(mean);
      if (rho < 4) mask[p] = MASK_REASONS.beamStop;
      intensity[p] = mask[p] !== 0 ? Number.NaN : counts[p]! / 77;
      sigma[p] = mask[p] !== 0 ? Number.NaN : Math.sqrt(Math.max(1, counts[p]!)) / 77;
    }
  }
  for (let x = 0; x < width; x++) mask[x]! |= MASK_REASONS.edge;
  for (let x = 0; x < width; x++) intensity[x] = sigma[x] = Number.NaN;

  const from = "/entry/made up";
  const orientation = { rowOrder: "bottom-up", transpose: false } as const;
  const steps = [
    step("mask", { effect: { pixelsMasked: 96 }, parameters: { auto: ["beam-stop"], edge_px: 1 } }),
    step("deadTime", {
      parameters: { model: "non-paralysable", tau_s: 2e-6 },
      sources: { tau_s: "plan corrections.deadTime.tau_s" },
      effect: { factorMin: 1, factorMax: 1.012, signalBefore: 81234, signalAfter: 82011 },
    }),
    step("normaliseBy", { parameters: { by: "monitor", monitorCounts: 1e6 }, relativeSigma: 1e-3 }),
    step("transmission", { parameters: { sample: 0.72, obliquePath: true } }),
    step("solidAngle", { parameters: { method: "exact", distance_m: 4 } }),
    step("flood", { status: "not applied", reason: "no flood run is given" }),
    step("absolute", { parameters: { method: "direct-beam" } }),
  ];
  return {
    sampleFile: "rods.h5",
    title: 'Nanorods <at rest> & "sheared"',
    metadata: {
      wavelength: { value: 6, from },
      wavelengthSpread: { value: 0.1, from },
      distance: { value: 4, from },
      pixelSize: { value: [0.005, 0.005], from },
      beamCentre: { value: [centre.x, centre.y], from },
      monitorCounts: { value: 1e6, from },
      countTime: { value: 600, from },
      sourceAperture: { value: 0.02, from },
      sampleAperture: { value: 0.008, from },
      collimation: { value: 4, from },
      thickness: { value: 0.001, from: "plan metadata.sample.thickness_mm" },
      sampleName: { value: "Nanorods in water", from },
      instrument: { value: "Lantern", from },
      runNumber: { value: "117", from },
    },
    frame: { width, height, counts, mask: mask.slice(), warnings: [], ...orientation },
    geometry: {
      width,
      height,
      pixelSizeX: 0.005,
      pixelSizeY: 0.005,
      distance: 4,
      wavelength: 6,
      beamCentre: centre,
      tilt: [0, 0],
      ...orientation,
    },
    collimation: { sourceAperture: 0.02, sampleAperture: 0.008, length: 4, wavelengthSpread: 0.1 },
    beamCentre: { ...centre, xSigma: 0.021, ySigma: 0.024, method: "direct-beam", from: "direct.h5" },
    beamStop: { shape: "circle", x: 22.1, y: 18.9, radius: 3.6, xSigma: 0.05, ySigma: 0.05, radiusSigma: 0.04 },
    transmission: { sample: { value: 0.72, sigma: 0.004 }, emptyCell: { value: 0.95 } },
    directBeams: [],
    unit: "1/cm",
    estimate: {
      width,
      height,
      mask,
      terms: [],
      norm: new Float64Array(size).fill(77),
      common: [
        { name: "sample transmission", value: 0.72, relativeSigma: 0.0055 },
        { name: "thickness", value: 0.1 },
      ],
      background: 0,
    },
    maps: { intensity, sigma, q, phi, mask },
    curves: [aCurve(), aCurve({ kind: "sector", id: "flow" })],
    profiles: [aProfile()],
    ledger: {
      program: { name: "Halation", version: "0.1.0" },
      plan: { planVersion: 1, runs: { sample: "rods.h5" }, corrections: { normaliseBy: "monitor" } },
      inputs: [
        { role: "sample", file: "rods.h5", sha256: "ab".repeat(32), format: "nexus", dataset: "/entry/data/counts" },
        {
          role: "emptyBeam",
          file: "direct.h5",
          sha256: "cd".repeat(32),
          format: "nexus",
          dataset: "/entry/data/counts",
        },
      ],
      steps,
      warnings: ["wavelength spread is a guess"],
    },
    warnings: ["wavelength spread is a guess"],
    ...changes,
  };
}
