import { existsSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { sphereIntensity } from "../../core/curves/sphere.ts";
import { failure, success } from "../../core/model/result.ts";
import { reducePlan } from "../../core/plan/execute.ts";
import { parsePlan } from "../../core/plan/parse.ts";
import type { Reduction, RunSource } from "../../core/plan/reduction.ts";
import { diskSource, neverAborted, openSource, unwrap } from "../support/open-file.ts";

// The invented experiment was drawn from first principles by core/simulate; truth.json says with what.
const SAMPLES = resolve(import.meta.dirname, "../../samples");

interface Truth {
  readonly camera: { readonly beamCentre_px: readonly [number, number]; readonly beamPerMonitor: number };
  readonly cell: { readonly transmission: number };
  readonly samples: {
    readonly spheres: {
      readonly transmissionInCell: number;
      readonly model: {
        readonly radius_A: number;
        readonly sigmaLnR: number;
        readonly volumeFraction: number;
        readonly contrast_1A2: number;
      };
    };
  };
}
const truth = JSON.parse(readFileSync(resolve(SAMPLES, "truth.json"), "utf8")) as Truth;

const source: RunSource = {
  async openRun(reference) {
    const file = typeof reference === "string" ? reference : reference.file;
    const run = await openSource(diskSource(resolve(SAMPLES, file)));
    return run.ok ? success({ run: run.value, file, sha256: file }) : run;
  },
  openMask: async (path) => failure("unreadable", `${path} is not there`),
};

describe.skipIf(!existsSync(resolve(SAMPLES, "spheres.h5")))("the sample spheres", () => {
  let reduction: Reduction;
  it("reduce from raw frames", async () => {
    const plan = unwrap(parsePlan(readFileSync(resolve(SAMPLES, "spheres.plan.json"), "utf8"), "spheres.plan.json"));
    reduction = unwrap(await reducePlan(plan, source, { signal: neverAborted, version: "test" }));
    expect(reduction.unit).toBe("1/cm");
  });

  it("have the transmissions, the centre and the scale that they were made with", () => {
    const { sample, emptyCell } = reduction.transmission;
    const { samples, cell, camera } = truth;
    // Three sigma each: a false alarm in one of five in 1.4 % of all seeds; the seed is fixed.
    expect(Math.abs(sample!.value - samples.spheres.transmissionInCell)).toBeLessThan(3 * sample!.sigma!);
    expect(Math.abs(emptyCell!.value - cell.transmission)).toBeLessThan(3 * emptyCell!.sigma!);
    const scale = reduction.estimate.common.find(({ name }) => name === "absolute")!;
    expect(Math.abs(scale.value / camera.beamPerMonitor - 1)).toBeLessThan(3 * scale.relativeSigma!);
    const { x, y, xSigma, ySigma } = reduction.beamCentre;
    expect(Math.abs(x - camera.beamCentre_px[0])).toBeLessThan(3 * xSigma! + 0.01);
    expect(Math.abs(y - camera.beamCentre_px[1])).toBeLessThan(3 * ySigma! + 0.01);
  });

  it("have the absolute cross-section of their form factor within 1 % where counting allows", () => {
    const { radius_A: radius, sigmaLnR, volumeFraction, contrast_1A2: contrast } = truth.samples.spheres.model;
    const { q, intensity, sigma, qSigma } = reduction.curves[0]!;
    const model = (x: number) => sphereIntensity(x, { radius, sigmaLnR, volumeFraction, contrast });
    let [ratio, weight, points] = [0, 0, 0];
    for (let k = 0; k < q.length; k++) {
      // Seen through the resolution: the second-order term of a Gaussian of the curve's own dQ.
      const s = qSigma![k]!;
      const expected = (model(q[k]! - Math.sqrt(3) * s) + 4 * model(q[k]!) + model(q[k]! + Math.sqrt(3) * s)) / 6;
      if (!(sigma[k]! < 0.01 * expected)) continue;
      const w = 1 / (sigma[k]! / expected) ** 2;
      ratio += (w * intensity[k]!) / expected;
      weight += w;
      points++;
      // Common factors (transmission 0.2 %, direct beam 0.4 %) and counting, three of each.
      expect(Math.abs(intensity[k]! / expected - 1)).toBeLessThan(0.013 + 3.5 * (sigma[k]! / expected));
    }
    expect(points).toBeGreaterThan(40);
    expect(Math.abs(ratio / weight - 1)).toBeLessThan(0.01);
  });
});
