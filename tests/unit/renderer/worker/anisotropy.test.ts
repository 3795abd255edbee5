import { describe, expect, it } from "vitest";
import { failure } from "../../../../core/model/result.ts";
import type { Plan } from "../../../../core/plan/plan.ts";
import { npyBytes } from "../../../../core/report/npy.ts";
import { FileShelf } from "../../../../renderer/worker/file-shelf.ts";
import { WindowRunSource } from "../../../../renderer/worker/window-run-source.ts";
import { Workbench } from "../../../../renderer/worker/workbench.ts";
import { poissonSource } from "../../../support/random.ts";

const SIDE = 96;
const options = { signal: new AbortController().signal };
const plan: Plan = {
  planVersion: 1,
  runs: { sample: ["stretched.npy", "rest.npy"] },
  metadata: { all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [46.3, 48.9] } },
  corrections: { normaliseBy: "none", solidAngle: "none" },
  averages: [{ id: "ring", kind: "annulus", qMin: 0.03, qMax: 0.06 }],
};

function frame(anisotropy: number, seed: number): Blob {
  const poisson = poissonSource(seed);
  const counts = new Float64Array(SIDE * SIDE);
  for (let y = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++) {
      const [dx, dy] = [x - 46.3, y - 48.9];
      const shape = 1 + anisotropy * Math.cos(2 * (Math.atan2(dy, dx) - 0.5));
      counts[y * SIDE + x] = poisson((400 * shape) / (1 + (dx * dx + dy * dy) / 200));
    }
  return new Blob([npyBytes(counts, { width: SIDE, height: SIDE })]);
}

async function benchWithFrame(): Promise<{ readonly bench: Workbench; readonly serial: number }> {
  const shelf = new FileShelf();
  shelf.put("stretched.npy", "1", "stretched.npy", frame(0.4, 3));
  shelf.put("rest.npy", "1", "rest.npy", frame(0, 4));
  const source = new WindowRunSource(shelf, async () => failure("unsupported", "no HDF5 here"));
  const bench = new Workbench({ source, services: {}, version: "0.0.0" });
  const reduced = await bench.reduce({ plan, sampleIndex: 0, knownFrame: undefined }, options);
  if (!reduced.ok) throw new Error(reduced.fault.message);
  return { bench, serial: reduced.value.serial };
}

describe("the anisotropy question in the worker", () => {
  it("is answered with measures, line of the fit, spectrum, centre and sectors, all fit to be sent", async () => {
    const { bench, serial } = await benchWithFrame();
    const answer = await bench.analyse({}, options);
    if (!answer.ok) throw new Error(answer.fault.message);
    const { annuli, spectrum, centre, sectors } = structuredClone(answer.value);
    expect(answer.value.serial).toBe(serial);
    const [ring] = annuli;
    expect(ring!.verdict.verdict).toBe("anisotropic");
    expect(Math.abs(ring!.measures!.axis - 0.5)).toBeLessThan(4 * ring!.measures!.axisSigma);
    expect(Math.abs(ring!.measures!.alignment - 0.2)).toBeLessThan(4 * ring!.measures!.alignmentSigma);
    expect(ring!.line!.phi).toHaveLength(361);
    expect(spectrum.length).toBeGreaterThan(10);
    expect(centre!.isOff).toBe(false);
    expect(sectors!.along.q.length).toBeGreaterThan(10);
    expect(sectors!.axisFrom).toBe("annulus");

    const wider = await bench.analyse({ sectorHalfWidth_deg: 30 }, options);
    if (!wider.ok) throw new Error(wider.fault.message);
    expect(wider.value.annuli).toEqual(annuli);
    // Twice the angle, about twice the counts.
    const share = wider.value.sectors!.cost.countsShare / sectors!.cost.countsShare;
    expect(share).toBeGreaterThan(1.7);
    expect(share).toBeLessThan(2.3);
  });

  it("takes the field from the person, for the law of magnetised samples and for the sectors", async () => {
    const { bench } = await benchWithFrame();
    const answer = await bench.analyse({ field_deg: 20 }, options);
    if (!answer.ok) throw new Error(answer.fault.message);
    const { annuli, sectors } = answer.value;
    expect(annuli[0]!.measures!.sineSquared!.direction).toBeCloseTo((20 * Math.PI) / 180, 12);
    expect(annuli[0]!.measures!.sineSquared!.directionSigma).toBeUndefined();
    expect(sectors!.axisFrom).toBe("field");
    expect(sectors!.axis).toBeCloseTo((20 * Math.PI) / 180, 12);
    const fitted = await bench.analyse({}, options);
    expect(fitted.ok && fitted.value.annuli[0]!.measures!.sineSquared!.directionSigma).toBeGreaterThan(0);
  });

  it("gives up when it is no longer asked", async () => {
    const { bench } = await benchWithFrame();
    const cancel = new AbortController();
    cancel.abort(new Error("no longer asked"));
    await expect(bench.analyse({}, { signal: cancel.signal })).rejects.toThrow("no longer asked");
  });

  it("shows the residual frame in sigmas", async () => {
    const { bench } = await benchWithFrame();
    const answer = bench.residual({ part: "whole" });
    if (!answer.ok) throw new Error(answer.fault.message);
    const { residual } = answer.value;
    expect(residual).toHaveLength(SIDE * SIDE);
    expect(residual.filter((value) => Math.abs(value) > 6).length).toBeGreaterThan(50);
  });

  it("goes through the samples of a plan and leaves the one on show", async () => {
    const { bench, serial } = await benchWithFrame();
    const answer = await bench.series({ plan }, options);
    if (!answer.ok) throw new Error(answer.fault.message);
    expect(answer.value.faults).toEqual([]);
    expect(answer.value.samples.map(({ file, annuli }) => [file, annuli[0]!.verdict.verdict])).toEqual([
      ["stretched.npy", "anisotropic"],
      ["rest.npy", "isotropic"],
    ]);
    const again = await bench.analyse({}, options);
    expect(again.ok && again.value.serial).toBe(serial);
  });

  it("names the sample that can't be had, and measures the others", async () => {
    const { bench } = await benchWithFrame();
    const missing: Plan = { ...plan, runs: { sample: ["rest.npy", "lost.npy"] } };
    const answer = await bench.series({ plan: missing }, options);
    if (!answer.ok) throw new Error(answer.fault.message);
    expect(answer.value.samples).toHaveLength(1);
    expect(answer.value.faults[0]!.file).toBe("lost.npy");
  });
});
