import { describe, expect, it } from "vitest";
import { CORRECTIONS } from "../../../core/corrections/index.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import type { Plan } from "../../../core/model/plan.ts";
import { reducePlan } from "../../../core/plan/execute.ts";
import { validatePlan } from "../../../core/plan/parse.ts";
import {
  everything,
  files,
  frame,
  plain,
  reduce,
  refuse,
  SIDE,
  signal,
  withMetadata,
} from "../../support/plan-experiment.ts";
import { inFile, memorySource, type RunParts } from "../../support/run-builder.ts";

describe("reducing a plan", () => {
  it("carries out every key and writes every one into the ledger", async () => {
    expect(validatePlan(everything).ok).toBe(true);
    const reduction = await reduce(everything);
    expect(reduction.unit).toBe("1/cm");
    expect(reduction.curves.map(({ id }) => id)).toEqual(["radial", "flow", "cut"]);
    expect(reduction.profiles.map(({ id }) => id)).toEqual(["ring"]);
    const { steps, program, inputs } = reduction.ledger;
    expect(program).toEqual({ name: "Halation", version: "1.2.3" });
    expect(inputs.map(({ role }) => role)).toEqual([
      "sample",
      "sampleTransmission",
      "emptyCell",
      "emptyCellTransmission",
      "emptyBeam",
      "blockedBeam",
      "flood",
    ]);
    expect(steps.map(({ step }) => step)).toEqual([
      "mask",
      "beamCentre",
      "gravity",
      ...CORRECTIONS.map(({ key }) => key).filter((key) => key !== "mask"),
      "resolution",
    ]);
    const off = steps.filter(({ status }) => status === "not applied");
    expect(off.map(({ step }) => step)).toEqual(["gravity", "resolution"]);
    for (const { reason } of off) expect(reason).toBeTruthy();
    const step = (key: string) => steps.find((entry) => entry.step === key)!;
    expect(step("normaliseBy").sources).toMatchObject({ monitorCounts: "/entry/monitor", normaliseBy: "default" });
    expect(step("thickness").sources).toMatchObject({ thickness_mm: "metadata.sample.thickness_mm" });
    expect(step("emptyCell").effect).toMatchObject({
      signalBefore: expect.any(Number),
      signalAfter: expect.any(Number),
    });
    // T = 2800/4000 by the files' making; 3800/4000 for the cell.
    expect(Math.abs(reduction.transmission.sample!.value - 0.7)).toBeLessThan(
      4 * reduction.transmission.sample!.sigma!,
    );
    expect(Math.abs(reduction.transmission.emptyCell!.value - 0.95)).toBeLessThan(
      4 * reduction.transmission.emptyCell!.sigma!,
    );
  });

  it("leaves no NaN, no Infinity and no sigma of 0 in a curve, and NaN in masked pixels of the maps only", async () => {
    const { curves, profiles, maps } = await reduce(everything);
    for (const curve of [...curves, ...profiles])
      for (let b = 0; b < curve.intensity.length; b++) {
        expect(Number.isFinite(curve.intensity[b]!)).toBe(true);
        expect(curve.sigma[b]! > 0 && Number.isFinite(curve.sigma[b]!)).toBe(true);
      }
    for (let p = 0; p < maps.mask.length; p++) {
      expect(Number.isFinite(maps.intensity[p]!)).toBe(maps.mask[p] === 0);
      expect(maps.sigma[p]! > 0).toBe(maps.mask[p] === 0);
    }
  });

  it("reduces a frame that has nothing but counts and geometry, and says in which unit", async () => {
    const bare = withMetadata({ monitorCounts: undefined, countTime: undefined });
    const reduction = await reduce(plain, { "a.npy": bare });
    expect(reduction.unit).toBe("counts/sr");
    expect(reduction.warnings).toContain("intensities are not normalised: no monitor count is known");
    const normalised = await reduce(plain);
    expect(normalised.unit).toBe("counts/monitor/sr");
    const byTime = await reduce({ ...plain, corrections: { normaliseBy: "time", solidAngle: "none" } });
    expect(byTime.unit).toBe("counts/s");
    const raw = await reduce({ ...plain, corrections: { normaliseBy: "none", solidAngle: "none" } });
    expect(raw.unit).toBe("counts");
    // One count scale: counts over 1, over 600 s.
    expect(raw.curves[0]!.intensity[2]! / byTime.curves[0]!.intensity[2]!).toBeCloseTo(600, 9);
    const counts = files["a.npy"]!.counts as Float64Array;
    expect(raw.curves[0]!.counts.reduce((a, b) => a + b, 0)).toBe(counts.reduce((a, b) => a + b, 0));
  });

  it("takes the plan's numbers before the file's, and those of a role before those of all", async () => {
    const plan: Plan = {
      ...plain,
      metadata: { all: { distance_m: 2, monitorCounts: 5 }, sample: { monitorCounts: 2e6 } },
    };
    const { metadata, geometry } = await reduce(plan);
    expect(metadata.monitorCounts).toEqual({ value: 2e6, from: "metadata.sample.monitorCounts" });
    expect(metadata.distance).toEqual({ value: 2, from: "metadata.all.distance_m" });
    expect(metadata.wavelength?.from).toBe("/entry/wavelength");
    expect(geometry.distance).toBe(2);
  });

  it("does not depend on what masked pixels hold", async () => {
    const before = await reduce(everything);
    const spoilt: Record<string, RunParts> = {};
    for (const [name, parts] of Object.entries(files)) {
      const counts = Float64Array.from(parts.counts as Float64Array);
      const mask = new Uint16Array(SIDE * SIDE);
      for (const [p, junk] of [
        [30, Number.NaN],
        [31, 1e9],
        [32, Number.POSITIVE_INFINITY],
      ] as const) {
        counts[p] = junk;
        mask[p] = MASK_REASONS.hot;
      }
      spoilt[name] = { ...parts, counts, mask };
    }
    const masked: Record<string, RunParts> = Object.fromEntries(
      Object.entries(files).map(([name, parts]) => {
        const mask = new Uint16Array(SIDE * SIDE);
        mask.fill(MASK_REASONS.hot, 30, 33);
        return [name, { ...parts, mask }];
      }),
    );
    const [clean, dirty] = [await reduce(everything, masked), await reduce(everything, spoilt)];
    expect(dirty.curves).toEqual(clean.curves);
    expect(dirty.maps).toEqual(clean.maps);
    expect(before.curves[0]!.pixels.reduce((a, b) => a + b, 0)).toBe(
      clean.curves[0]!.pixels.reduce((a, b) => a + b, 0) + 3,
    );
  });

  it("adds up the frames of a stack on request, or takes one", async () => {
    const stack: RunParts = {
      ...frame(0, 1),
      counts: [new Uint32Array(SIDE * SIDE).fill(2), new Uint32Array(SIDE * SIDE).fill(5)],
    };
    const raw = { normaliseBy: "none", solidAngle: "none" } as const;
    const of = async (reference: Plan["runs"]["sample"], more = {}) =>
      reduce({ ...plain, runs: { sample: reference }, corrections: raw }, { "s.npy": { ...stack, ...more } });
    expect((await of({ file: "s.npy", frame: 1 })).curves[0]!.intensity[0]).toBe(5);
    expect((await of({ file: "s.npy", frame: "sum" })).curves[0]!.intensity[0]).toBe(7);
    const silent = await of("s.npy");
    expect(silent.curves[0]!.intensity[0]).toBe(7);
    expect(silent.warnings.join()).toContain("2 frames were added up");
    expect((await refuse({ ...plain, runs: { sample: { file: "s.npy", frame: 2 } } }, { "s.npy": stack })).field).toBe(
      "runs.sample.frame",
    );
    const spin = { axis: { kind: "spin" as const } };
    expect(
      (await refuse({ ...plain, runs: { sample: "s.npy" } }, { "s.npy": { ...stack, ...spin } })).message,
    ).toContain("spin");
  });

  it("reports progress, closes every run and stops when it is told to", async () => {
    let closed = 0;
    const counted = Object.fromEntries(
      Object.entries(files).map(([name, parts]) => [name, { ...parts, onClose: () => closed++ }]),
    );
    const seen: number[] = [];
    await reducePlan(everything, memorySource(counted), {
      signal,
      version: "1",
      onProgress: (fraction) => seen.push(fraction),
    });
    expect(closed).toBe(7);
    expect(seen.at(-1)).toBe(1);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    const stop = new AbortController();
    stop.abort();
    await expect(reducePlan(everything, memorySource(files), { signal: stop.signal, version: "1" })).rejects.toThrow();
  });
});

describe("two runs compared", () => {
  it("have a ratio of 1 with the right sigma where they are two measurements of the same", async () => {
    // 60 pairs of runs with 20 counts a pixel: the pull of ln(I1/I2) has mean 0 and width 1 in each bin.
    const n = 60;
    let [sum, sum2, values] = [0, 0, 0];
    const plan: Plan = { ...plain, mask: { edge_px: 0 } };
    for (let i = 0; i < n; i++) {
      const a = await reduce(plan, { "a.npy": frame(20, 1000 + i) });
      const b = await reduce(plan, { "a.npy": frame(20, 5000 + i) });
      for (let k = 0; k < 6; k++) {
        const [ia, ib] = [a.curves[0]!.intensity[k]!, b.curves[0]!.intensity[k]!];
        const sigma = Math.hypot(a.curves[0]!.sigma[k]! / ia, b.curves[0]!.sigma[k]! / ib);
        const pull = Math.log(ia / ib) / sigma;
        sum += pull;
        sum2 += pull * pull;
        values++;
      }
    }
    // 360 pulls: mean within 4/sqrt(360) = 0.21, width within 4/sqrt(720) = 0.15.
    expect(Math.abs(sum / values)).toBeLessThan(0.21);
    expect(Math.abs(Math.sqrt(sum2 / values) - 1)).toBeLessThan(0.15);
  });

  it("subtract to 0 where a run is its own cell, with the sigma of two independent runs and a warning", async () => {
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", emptyCell: "a.npy" },
      corrections: { transmission: { sample: 0.8, emptyCell: 0.8 } },
    };
    const difference = await reduce(plan);
    const alone = await reduce({ ...plain, corrections: { transmission: { sample: 0.8 } } });
    const [d, s] = [difference.curves[0]!, alone.curves[0]!];
    for (let b = 0; b < d.intensity.length; b++) {
      expect(Math.abs(d.intensity[b]!)).toBeLessThan(1e-12 * s.intensity[b]!);
      expect(d.sigma[b]! / s.sigma[b]!).toBeCloseTo(Math.SQRT2, 9);
    }
    expect(difference.warnings.join()).toContain("runs.emptyCell is the same measurement as runs.sample");
  });

  it("gives the same curve for a run that counted twice as long", async () => {
    const counts = (files["a.npy"]!.counts as Float64Array).map((c) => 2 * c);
    const twice = withMetadata({ monitorCounts: inFile(2e6), countTime: inFile(1200) });
    const [once, double] = [await reduce(plain), await reduce(plain, { "a.npy": { ...twice, counts } })];
    for (let b = 0; b < 6; b++) {
      expect(double.curves[0]!.intensity[b]! / once.curves[0]!.intensity[b]!).toBeCloseTo(1, 12);
      expect(double.curves[0]!.sigma[b]! / once.curves[0]!.sigma[b]!).toBeCloseTo(Math.SQRT1_2, 12);
    }
  });
  it("takes the part that an attenuator let through into the flux, and does not take what is no fraction", async () => {
    const open = await reduce(plain);
    const behind = await reduce({ ...plain, metadata: { sample: { attenuation: 0.25 } } });
    for (let b = 0; b < 6; b++)
      expect(behind.curves[0]!.intensity[b]! / open.curves[0]!.intensity[b]!).toBeCloseTo(4, 12);
    const odd = await reduce(plain, { "a.npy": withMetadata({ attenuation: inFile(3, "/entry/attenuator") }) });
    expect(odd.curves[0]!.intensity).toEqual(open.curves[0]!.intensity);
    expect(odd.warnings.join()).toContain("/entry/attenuator says that an attenuator lets through 3");
  });
});
