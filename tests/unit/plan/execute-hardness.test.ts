import { describe, expect, it } from "vitest";
import { pixelSignal } from "../../../core/model/estimate.ts";
import type { Plan } from "../../../core/model/plan.ts";
import { everything, files, plain, reduce, withMetadata } from "../../support/plan-experiment.ts";
import { inFile, type RunParts } from "../../support/run-builder.ts";

const counts = files["a.npy"]!.counts as Float64Array;
/** The same counts under another name: a second measurement, as far as a plan can tell. */
const again: Record<string, RunParts> = { "again.npy": files["a.npy"]! };

describe("a run over itself", () => {
  it("is the same everywhere, with the sigma of both", async () => {
    // As its own flood: counts over counts, normalised to the mean. One pixel a bin would show any unevenness.
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", flood: "again.npy" },
      averages: [{ id: "fine", kind: "radial", bins: { spacing: "linear", count: 40 } }],
    };
    const { curves, maps, estimate } = await reduce(plan, again);
    const good = Array.from(maps.mask.keys()).filter((p) => maps.mask[p] === 0);
    const level = maps.intensity[good[0]!]!;
    for (const p of good) {
      expect(Math.abs(maps.intensity[p]! / level - 1)).toBeLessThan(1e-12);
      // Relative variances 1/C of the run and 1/C of the flood.
      expect(maps.sigma[p]! / level / Math.sqrt(2 / counts[p]!) - 1).toBeCloseTo(0, 10);
    }
    const { intensity, sigma, norm, counts: counted } = curves[0]!;
    expect(estimate.terms).toHaveLength(1);
    for (let b = 0; b < intensity.length; b++) {
      expect(Math.abs(intensity[b]! / level - 1)).toBeLessThan(1e-12);
      // sqrt(sum C + I^2 sum W^2/C) / sum W, and I W = C in every pixel: sqrt(2 sum C) / sum W.
      expect(sigma[b]! / (Math.sqrt(2 * counted[b]!) / norm[b]!) - 1).toBeCloseTo(0, 10);
    }
  });
});

describe("a run less itself", () => {
  it("is 0 everywhere, with the sigma of both", async () => {
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", emptyCell: "again.npy" },
      corrections: { transmission: { sample: 0.8, emptyCell: 0.8, obliquePath: true } },
      metadata: { sample: { thickness_mm: 1 } },
    };
    const { curves, maps, estimate } = await reduce(plan, again);
    for (let p = 0; p < maps.mask.length; p++) {
      if (maps.mask[p] !== 0) continue;
      expect(maps.intensity[p]).toBe(0);
      expect(pixelSignal(estimate, p).variance).toBeCloseTo(2 * counts[p]!, 9);
    }
    const { intensity, sigma, norm, counts: counted } = curves[0]!;
    for (let b = 0; b < intensity.length; b++) {
      expect(Math.abs(intensity[b]!)).toBeLessThan(1e-13 * sigma[b]!);
      expect(sigma[b]! / (Math.sqrt(2 * counted[b]!) / norm[b]!) - 1).toBeCloseTo(0, 10);
    }
  });

  it("is told of where one file stands for both", async () => {
    const runs = { sample: "a.npy", emptyCell: "a.npy" };
    const { warnings } = await reduce({
      ...plain,
      runs,
      corrections: { transmission: { sample: 0.8, emptyCell: 0.8 } },
    });
    expect(warnings).toContain(
      "runs.emptyCell is the same measurement as runs.sample; their uncertainties are taken as independent",
    );
  });
});

describe("what a plan can't do", () => {
  it("is change the order: keys in another order give the same bits", async () => {
    const { corrections, ...rest } = everything;
    const turned: Plan = { ...rest, corrections: Object.fromEntries(Object.entries(corrections!).reverse()) };
    expect(Object.keys(turned.corrections!)[0]).toBe("gravity");
    const [one, other] = [await reduce(everything), await reduce(turned)];
    expect(other.curves).toEqual(one.curves);
    expect(other.ledger.steps).toEqual(one.ledger.steps);
  });

  it("is use a thickness of zero where it is not needed: a warning, and finite numbers", async () => {
    const { curves, warnings } = await reduce(plain, {
      "a.npy": withMetadata({ thickness: inFile(0, "/entry/thickness") }),
    });
    expect(warnings.join()).toContain("thickness");
    expect(curves[0]!.intensity.every(Number.isFinite)).toBe(true);
  });
});

it("leaves a flood of upright tubes flat that is reduced by itself", async () => {
  const plan: Plan = {
    ...plain,
    runs: { sample: "a.npy", flood: "again.npy" },
    corrections: { detectorAbsorption: { opticalDepth: 3.5, shape: "tubes" } },
  };
  const { maps, ledger } = await reduce(plan, again);
  const good = maps.intensity.filter((_, p) => maps.mask[p] === 0);
  for (const value of good) expect(Math.abs(value / good[0]! - 1)).toBeLessThan(1e-12);
  expect(ledger.steps.find(({ step }) => step === "detectorAbsorption")!.parameters).toMatchObject({ shape: "tubes" });
  expect(ledger.steps.find(({ step }) => step === "flood")!.parameters["takenOut"]).toContain("detectorAbsorption");
});
