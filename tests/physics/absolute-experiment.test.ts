import { beforeAll, describe, expect, it } from "vitest";
import { fitGuinier } from "../../core/curves/quick-look.ts";
import { sphereIntensity } from "../../core/curves/sphere.ts";
import type { Curve } from "../../core/model/curve.ts";
import { reduceExperiment, SimulatedExperiment, SPHERES } from "../support/simulated-experiment.ts";

/** Rayleigh's sphere: the closed form, independent of the frames, which are drawn pixel by pixel through a camera. */
const analytic = (q: number) => sphereIntensity(q, SPHERES);

/** Reductions in which every run was drawn anew. */
const REPEATS = 60;

let experiment: SimulatedExperiment;
const curves: Curve[] = [];

beforeAll(async () => {
  experiment = new SimulatedExperiment();
  for (let i = 0; i < REPEATS; i++) curves.push((await reduceExperiment(experiment.drawn(1000 + i))).curves[0]!);
}, 120_000);

describe("spheres of known size, content and contrast, through a whole experiment", () => {
  it("come out right in 1/cm to 1 % wherever counting allows it", async () => {
    const { unit, curves: long, ledger } = await reduceExperiment(experiment.drawn(7, 400));
    const { q, intensity, sigma } = long[0]!;
    expect(unit).toBe("1/cm");
    for (const step of ["deadTime", "blockedBeam", "normaliseBy", "flood", "solidAngle", "transmission", "emptyCell"])
      expect(ledger.steps.find((entry) => entry.step === step)?.status).toBe("applied");
    let looked = 0;
    for (let b = 0; b < q.length; b++) {
      const truth = analytic(q[b]!);
      if (!(sigma[b]! < 0.0025 * truth)) continue;
      looked++;
      expect(Math.abs(intensity[b]! / truth - 1), `Q = ${q[b]}`).toBeLessThan(0.01);
    }
    expect(looked).toBeGreaterThan(20);
  });

  it("have pulls of mean 0 and width 1 over repeated experiments", () => {
    const pulls = curves.flatMap(({ q, intensity, sigma }) =>
      Array.from(q, (at, b) => (intensity[b]! - analytic(at)) / sigma[b]!),
    );
    const n = pulls.length;
    const mean = pulls.reduce((sum, pull) => sum + pull, 0) / n;
    const width = Math.sqrt(pulls.reduce((sum, pull) => sum + (pull - mean) ** 2, 0) / (n - 1));
    // Some 2100 pulls: 1/sqrt(n) = 0.022 for the mean, 0.016 for the width; four of them.
    expect(n).toBeGreaterThan(2000);
    expect(Math.abs(mean)).toBeLessThan(0.1);
    expect(width).toBeGreaterThan(0.93);
    expect(width).toBeLessThan(1.07);
  });

  it("have the radius of gyration sqrt(3/5) R within its uncertainty", () => {
    const truth = Math.sqrt(3 / 5) * SPHERES.radius;
    const pulls = curves.map((curve) => {
      const fit = fitGuinier(curve, 0.01, 0.9 / truth);
      if (!fit.ok) throw new Error(fit.fault.message);
      return (fit.value.rg - truth) / fit.value.rgSigma;
    });
    // Normal errors are within two sigmas in 95 of 100; the law's own bias (some 0.5 % up to Q Rg = 0.9) takes a few.
    const within = pulls.filter((pull) => Math.abs(pull) < 2).length;
    expect(within / REPEATS).toBeGreaterThan(0.85);
    expect(Math.abs(pulls.reduce((sum, pull) => sum + pull, 0) / REPEATS)).toBeLessThan(0.6);
  });
});
