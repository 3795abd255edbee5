import { describe, expect, it } from "vitest";
import { modelIntensity } from "../../../../core/curves/model-choice.ts";
import { openHdf5 } from "../../../../electron/services/open-hdf5.ts";
import { writeHdf5 } from "../../../../electron/services/write-hdf5.ts";
import { MODEL_FIELDS, STARTING_MODELS } from "../../../../renderer/curves-question/model-fields.ts";
import { CurveBench } from "../../../../renderer/worker/curve-bench.ts";

const bench = new CurveBench({ openHdf5, writeHdf5, version: "1" });
const { signal } = new AbortController();
const blob = (text: string) => new Blob([text]);

describe("curves in the worker", () => {
  it("are read in order of Q, without points that have no uncertainty, and with their fingerprint", async () => {
    const file = blob("Q (1/nm),I (1/cm),dI\n0.3,2,0.1\n0.1,4,0.1\n0.2,3,0\n");
    const loaded = await bench.load({ name: "a.csv", blob: file }, signal);
    if (!loaded.ok) throw new Error(loaded.fault.message);
    const [curve] = loaded.value;
    expect([...curve!.points.intensity]).toEqual([4, 2]);
    expect(curve!.notes.join()).toContain("1 points without an uncertainty");
    expect(curve!.sha256).toMatch(/^[0-9a-f]{64}$/);
  });

  it("scale, subtract and write what they were asked for, or say why not", async () => {
    const q = Float64Array.of(0.01, 0.02, 0.03, 0.04);
    const reference = { q, intensity: Float64Array.of(8, 6, 4, 2), sigma: new Float64Array(4).fill(0.1) };
    const curve = { ...reference, intensity: reference.intensity.map((value) => value / 4) };
    const range = { qMin: 0, qMax: Number.POSITIVE_INFINITY };
    const scaled = await bench.work({ tool: "scale", ask: { curve, reference, ...range } });
    expect(scaled).toMatchObject({ ok: true, value: { fit: { value: expect.closeTo(4, 12) } } });
    const zero = await bench.work({ tool: "subtract", ask: { curve: reference, other: reference, factor: 1 } });
    if (!zero.ok || !("leftOut" in zero.value)) throw new Error("no difference");
    expect([...zero.value.points.intensity]).toEqual([0, 0, 0, 0]);
    for (const sigma of zero.value.points.sigma!) expect(sigma).toBeCloseTo(Math.SQRT2 * 0.1, 12);
    // Half of it: I/2, and sigma sqrt(1 + 1/4) times that of one.
    const half = await bench.work({ tool: "subtract", ask: { curve: reference, other: reference, factor: 0.5 } });
    if (!half.ok || !("leftOut" in half.value)) throw new Error("no difference");
    expect([...half.value.points.intensity]).toEqual([4, 3, 2, 1]);
    for (const sigma of half.value.points.sigma!) expect(sigma).toBeCloseTo(Math.sqrt(1.25) * 0.1, 12);
    const bins = { spacing: "linear", count: 2 } as const;
    const wide = await bench.work({ tool: "rebin", ask: { curve: reference, bins } });
    if (!wide.ok || !("edges" in wide.value)) throw new Error("no bins");
    // Two points of one sigma each: their mean, with sigma/sqrt(2).
    expect([...wide.value.points.intensity]).toEqual([expect.closeTo(7, 12), expect.closeTo(3, 12)]);
    for (const sigma of wide.value.points.sigma!) expect(sigma).toBeCloseTo(0.1 / Math.SQRT2, 12);
    const narrow = await bench.work({ tool: "guinier", ask: { curve: reference, qMin: 0.01, qMax: 0.011 } });
    expect(narrow.ok).toBe(false);
  });

  it.each(["spheres", "core-shell", "chain", "rods"] as const)(
    "draw %s, whose every field has an effect",
    async (kind) => {
      const model = STARTING_MODELS[kind];
      const q = Float64Array.of(0.001, 0.02, 0.05);
      const made = await bench.work({ tool: "model", ask: { model, q } });
      if (!made.ok || !(made.value instanceof Float64Array)) throw new Error("no model");
      expect(made.value.every((value) => value > 0 && Number.isFinite(value))).toBe(true);
      for (const { key } of MODEL_FIELDS[kind]) {
        const values = new Map(Object.entries(model));
        const changed = { ...model, [key]: Number(values.get(key)) * 1.1 + 1e-7 };
        expect(modelIntensity(0.02, changed), key).not.toBe(modelIntensity(0.02, model));
      }
    },
  );

  it("has the absolute intensity of particles at Q = 0: phi drho^2 V", () => {
    // 1e8 brings 1/A to 1/cm. Spheres of 60 A alike, and rods of the same volume fraction and contrast.
    const sphere = { ...STARTING_MODELS.spheres, sigmaLnR: 0 };
    const volume = (4 / 3) * Math.PI * 60 ** 3;
    expect(modelIntensity(0, sphere) / (0.01 * 2.9e-6 ** 2 * volume * 1e8)).toBeCloseTo(1, 12);
    const rods = modelIntensity(0, STARTING_MODELS.rods);
    expect(rods / (0.005 * 4.5e-6 ** 2 * Math.PI * 25 ** 2 * 600 * 1e8)).toBeCloseTo(1, 9);
    expect(modelIntensity(0, STARTING_MODELS.chain)).toBeCloseTo(5, 12);
  });
});
