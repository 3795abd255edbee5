import { beforeAll, describe, expect, it } from "vitest";
import { fitGuinier } from "../../core/curves/quick-look.ts";
import { sphereIntensity } from "../../core/curves/sphere.ts";
import type { Curve } from "../../core/model/curve.ts";
import { commonSigmas } from "../../core/plan/common-uncertainty.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { BACKGROUND, reduceExperiment, SimulatedExperiment, SPHERES } from "../support/simulated-experiment.ts";

/** Rayleigh's sphere: the closed form, independent of the frames, which are drawn pixel by pixel through a camera. */
const analytic = (q: number) => sphereIntensity(q, SPHERES);

/** Reductions in which every run was drawn anew. */
const REPEATS = 60;

let experiment: SimulatedExperiment;
/** Transmission times absolute scale, which all points share: as expected counts have it. */
let trueFactor: number;
const curves: Curve[] = [];
/** By how much too large that factor came out in each repeat, and what the reduction says its sigma is. */
const factors: { readonly error: number; readonly sigma: number }[] = [];
/** Common sigma of each point. */
const common: Float64Array[] = [];

beforeAll(async () => {
  experiment = new SimulatedExperiment();
  trueFactor = sharedFactor(await reduceExperiment(experiment.expected()));
  for (let i = 0; i < REPEATS; i++) {
    const reduction = await reduceExperiment(experiment.drawn(1000 + i));
    curves.push(reduction.curves[0]!);
    common.push(commonSigmas(reduction.curves[0]!, reduction.estimate)!);
    factors.push({
      error: sharedFactor(reduction) / trueFactor - 1,
      sigma: reduction.ledger.commonUncertainty!.relativeSigma!,
    });
  }
}, 120_000);

function sharedFactor({ estimate }: Reduction): number {
  const value = (name: string) => estimate.common.find((one) => one.name === name && one.of !== "emptyCell")!.value;
  return value("transmission") * value("absolute");
}

function moments(values: readonly number[]): { readonly n: number; readonly mean: number; readonly width: number } {
  const n = values.length;
  const mean = values.reduce((sum, v) => sum + v, 0) / n;
  return { n, mean, width: Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1)) };
}

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

  it("have counting pulls of mean 0 and width 1 once what all points share is taken out", () => {
    const { n, mean, width } = moments(
      curves.flatMap(({ q, intensity, sigma }, i) =>
        Array.from(q, (at, b) => {
          const own = (intensity[b]! + BACKGROUND) * (1 + factors[i]!.error) - BACKGROUND;
          return (own - analytic(at)) / sigma[b]!;
        }),
      ),
    );
    // Some 2100 pulls: 1/sqrt(n) = 0.022 for the mean, 0.016 for the width; four of them.
    expect(n).toBeGreaterThan(2000);
    expect(Math.abs(mean)).toBeLessThan(0.1);
    expect(width).toBeGreaterThan(0.93);
    expect(width).toBeLessThan(1.07);
  });

  it("have pulls of mean 0 and width 1 with both parts of the uncertainty, and wider ones with one", () => {
    const pulls = (sigmaOf: (i: number, b: number) => number) =>
      moments(
        curves.flatMap(({ q, intensity }, i) =>
          Array.from(q, (at, b) => (intensity[b]! - analytic(at)) / sigmaOf(i, b)),
        ),
      );
    const both = pulls((i, b) => Math.hypot(curves[i]!.sigma[b]!, common[i]![b]!));
    // The common part is a fifth of the variance and moves in 60 steps: 0.2 sqrt(2/60)/2 = 0.018 beside the 0.016.
    expect(Math.abs(both.mean)).toBeLessThan(0.25);
    expect(both.width).toBeGreaterThan(0.9);
    expect(both.width).toBeLessThan(1.1);
    expect(pulls((i, b) => curves[i]!.sigma[b]!).width).toBeGreaterThan(1.04 * both.width);
  });

  it("have a common factor that scatters as its sigma says, most of it by the flood under the direct beam", () => {
    const { mean, width } = moments(factors.map(({ error, sigma }) => error / sigma));
    // 60 pulls: 4/sqrt(60) and 4/sqrt(120). Monitors (0.02 %) are not drawn.
    expect(Math.abs(mean)).toBeLessThan(0.52);
    expect(width).toBeGreaterThan(0.63);
    expect(width).toBeLessThan(1.37);
    expect(factors[0]!.sigma).toBeGreaterThan(0.005);
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
