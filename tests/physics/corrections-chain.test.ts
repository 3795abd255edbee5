import { describe, expect, it } from "vitest";
import { beamIntensity, transmissionRatio } from "../../core/beam/transmission.ts";
import type { Correction } from "../../core/corrections/correction.ts";
import { CORRECTIONS } from "../../core/corrections/index.ts";
import { measureRuns } from "../../core/corrections/measure-runs.ts";
import { cosTwoThetaMap } from "../../core/geometry/maps.ts";
import { solidAngleMap } from "../../core/geometry/solid-angle.ts";
import { pixelSignal } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import type { PlanCorrections } from "../../core/model/plan.ts";
import { correct, type SketchedContext, sketchContext, sketchGeometry } from "../support/correction-context.ts";
import { poissonSource } from "../support/random.ts";
import { inFile } from "../support/run-builder.ts";

/**
 * A camera written down once: what a pixel counts follows from flux, beam area, efficiency, solid angle, transmissions
 * and thickness, and the corrections must lead back to the cross-section. All numbers invented.
 */
const CAMERA = {
  beam: 2e6 * 0.5 * 0.8,
  monitor: 1e5,
  times: { sample: 1800, emptyCell: 1200, blockedBeam: 900 },
  sampleAlone: 0.62,
  cell: 0.93,
  thicknessCm: 0.1,
  omega: 0.005 ** 2 / 4 ** 2,
  eta: 0.95,
  ambient: 0.0025,
  section: 1.35,
  cellYield: 0.11,
};
const T_SAMPLE = CAMERA.sampleAlone * CAMERA.cell;

/** Expected counts of the three frames in a pixel on the beam axis. */
function expectedCounts(): { readonly sample: number; readonly emptyCell: number; readonly blockedBeam: number } {
  const { beam, times, omega, eta, ambient, section, thicknessCm, cellYield, cell } = CAMERA;
  const through = beam * omega * eta;
  return {
    sample: times.sample * (through * (T_SAMPLE * section * thicknessCm + T_SAMPLE * cellYield) + ambient),
    emptyCell: times.emptyCell * (through * cell * cellYield + ambient),
    blockedBeam: times.blockedBeam * ambient,
  };
}

function context(counts = expectedCounts()): SketchedContext {
  const { times, monitor, thicknessCm, eta, beam, cell } = CAMERA;
  const numbers = (role: keyof typeof times) => ({
    countTime: inFile(times[role]),
    monitorCounts: inFile(times[role] * monitor),
    ...(role === "sample" && { thickness: inFile(thicknessCm / 100) }),
  });
  return sketchContext(
    {
      transmission: { sample: T_SAMPLE, emptyCell: cell },
      solidAngle: "cosine-cubed",
      absolute: { method: "direct-beam" },
    },
    {
      sample: { counts: [counts.sample], metadata: numbers("sample") },
      emptyCell: { counts: [counts.emptyCell], metadata: numbers("emptyCell") },
      blockedBeam: { counts: [counts.blockedBeam], metadata: numbers("blockedBeam") },
      flood: { counts: [1] },
    },
    {
      sensitivity: {
        eta: new Float64Array([eta]),
        relativeVariance: new Float64Array(1),
        sumRelativeVariance: new Float64Array(1),
        spread: 0,
        mask: new Uint16Array(1),
        goodPixels: 1,
        outOfRange: 0,
        parameters: {},
        sources: {},
        warnings: [],
      },
      transmission: { sample: { value: T_SAMPLE, from: "given" }, emptyCell: { value: cell, from: "given" } },
      // 48000 net counts in 60 s behind an attenuator of 0.001.
      directBeam: { value: (beam * 60 * 0.001) / (monitor * 60 * 0.001), sigma: 8 / Math.sqrt(48000), from: "given" },
    },
  );
}

function intensity(corrected: SketchedContext): { readonly value: number; readonly sigma: number } {
  const { sample } = corrected.branches;
  const { signal, variance } = pixelSignal(sample, 0);
  return { value: signal / sample.norm[0]!, sigma: Math.sqrt(variance) / sample.norm[0]! };
}

function order(...keys: string[]): Correction[] {
  return keys.map((key) => CORRECTIONS.find((correction) => correction.key === key)!);
}

describe("the whole sequence", () => {
  it("leads from expected counts back to the cross-section", () => {
    const counts = expectedCounts();
    // 1800 (0.8e6 1.5625e-6 0.95 0.5766 (0.135 + 0.11) + 0.0025) etc., by hand.
    expect(counts.sample).toBeCloseTo(306.4582125, 9);
    expect(counts.emptyCell).toBeCloseTo(148.7775, 9);
    expect(counts.blockedBeam).toBeCloseTo(2.25, 12);
    const c = context();
    correct(c);
    expect(intensity(c).value / CAMERA.section - 1).toBeCloseTo(0, 12);
  });

  it("has the sigma of first-order propagation with the blocked beam counted once", () => {
    const c = context();
    correct(c);
    // sqrt(C_S/(M_S T_S)^2 + C_E/(M_E T_E)^2 + C_B (1/(M_B T_S) - 1/(M_B T_E))^2) / (K omega eta d); two blocked beams
    // would give 0.171767781 with the direct beam's 48000 counts, which stand apart, added in.
    const { value, sigma } = intensity(c);
    const direct = c.branches.sample.common.find(({ name }) => name === "absolute")?.relativeSigma ?? 0;
    expect(Math.hypot(sigma, value * direct)).toBeCloseTo(0.169615692718, 9);
    expect(c.branches.sample.terms.map(({ role }) => role)).toEqual(["sample", "blockedBeam", "emptyCell"]);
  });

  it("scatters as it says, on frames drawn from the expected counts", () => {
    const draw = poissonSource(7);
    const mean = expectedCounts();
    const n = 4000;
    const values = Array.from({ length: n }, () => {
      const c = context({
        sample: draw(mean.sample),
        emptyCell: draw(mean.emptyCell),
        blockedBeam: draw(mean.blockedBeam),
      });
      correct(c);
      return intensity(c);
    });
    const average = values.reduce((sum, { value }) => sum + value, 0) / n;
    const spread = Math.sqrt(values.reduce((sum, { value }) => sum + (value - average) ** 2, 0) / (n - 1));
    const width = Math.sqrt(
      values.reduce((sum, { value, sigma }) => sum + ((value - CAMERA.section) / sigma) ** 2, 0) / n,
    );
    // Standard errors: mean 0.17/sqrt(n) = 0.0027, spread 1/sqrt(2 n) = 1.1 %; limits of 4 of them.
    expect(Math.abs(average - CAMERA.section)).toBeLessThan(0.011);
    // 20.891 counts over W = 123.25: sample 306.458, cell 0.93^2 x 148.778, blocked beam 0.76^2 x 2.25.
    expect(Math.abs(spread / 0.1695037 - 1)).toBeLessThan(0.045);
    expect(Math.abs(width - 1)).toBeLessThan(0.05);
  });
});

describe("the order", () => {
  it("is the published one", () => {
    // Pauw et al. 2017, J. Appl. Cryst. 50, 1800: counter first, then flux, sensitivity and geometry, sample
    // transmission, background, thickness, absolute intensity. Brulet et al. 2007, J. Appl. Cryst. 40, 165.
    expect(CORRECTIONS.map(({ key }) => key)).toEqual([
      "mask",
      "deadTime",
      "blockedBeam",
      "normaliseBy",
      "flood",
      "detectorAbsorption",
      "solidAngle",
      "transmission",
      "emptyCell",
      "thickness",
      "absolute",
      "background_1cm",
    ]);
  });

  const before = ["mask", "deadTime", "blockedBeam"];
  it.each([
    [
      "the cell before its transmission",
      [...before, "normaliseBy", "flood", "solidAngle", "emptyCell", "transmission", "thickness", "absolute"],
    ],
    [
      "the cell before its monitor",
      [...before, "flood", "solidAngle", "transmission", "emptyCell", "normaliseBy", "thickness", "absolute"],
    ],
    [
      "the thickness before the cell",
      [...before, "normaliseBy", "flood", "solidAngle", "transmission", "thickness", "emptyCell", "absolute"],
    ],
    [
      "the cell before the blocked beam",
      [
        "mask",
        "deadTime",
        "normaliseBy",
        "flood",
        "solidAngle",
        "transmission",
        "emptyCell",
        "blockedBeam",
        "thickness",
        "absolute",
      ],
    ],
  ])("matters: %s changes the result", (_, keys) => {
    const c = context();
    correct(c, order(...keys));
    expect(Math.abs(intensity(c).value / CAMERA.section - 1)).toBeGreaterThan(0.003);
  });

  it("has the dead time before anything is subtracted, and the background last", () => {
    const late: SketchedContext = {
      ...context(),
      settings: { ...context().settings, deadTime: { model: "non-paralysable", tau_s: 1e-4 } },
    };
    expect(() => correct(late, order("mask", "blockedBeam", "deadTime"))).toThrow(/before any other frame/);
    const early: SketchedContext = { ...context(), settings: { ...context().settings, background_1cm: 0.1 } };
    expect(() => correct(early, order("mask", "background_1cm", "absolute"))).toThrow(/background/);
  });

  it("applies nothing twice", () => {
    const c = context();
    correct(c);
    expect(() => correct(c)).toThrow(/applied to sample already/);
    for (const key of ["mask", "transmission", "solidAngle"]) {
      const twice = context();
      expect(() => correct(twice, order(key, key))).toThrow(RangeError);
    }
  });

  it("has an entry for every correction, each with its status", () => {
    const entries = correct(context());
    expect(entries.map(({ step }) => step)).toEqual(CORRECTIONS.map(({ key }) => key));
    for (const { status, reason } of entries) if (status === "not applied") expect(reason).toBeTruthy();
  });
});

describe("wrong ways that look right", () => {
  it("give other numbers than the sequence", () => {
    const { sample, emptyCell, blockedBeam } = expectedCounts();
    const { times, monitor, cell, sampleAlone, omega, eta, thicknessCm } = CAMERA;
    const perMonitor = (counts: number, role: keyof typeof times) => counts / (times[role] * monitor);
    const s = perMonitor(sample, "sample") - perMonitor(blockedBeam, "blockedBeam");
    const e = perMonitor(emptyCell, "emptyCell") - perMonitor(blockedBeam, "blockedBeam");
    const per = 8 * omega * eta * thicknessCm;
    // The sample's transmission alone with an unscaled can; transmission twice; can not scaled: hand calculations.
    expect((s / sampleAlone - e) / per).toBeCloseTo(1.2555, 9);
    expect((s / T_SAMPLE - e / cell) / per / T_SAMPLE).toBeCloseTo(2.34131113424, 9);
    expect((s - e) / T_SAMPLE / per).toBeCloseTo(0.675806451613, 9);
  });
});

describe("a flood and the detector's absorption with angle", () => {
  // A counter that absorbs 1 - exp(-0.8 / cos 2theta) of what comes, 2 m wide at 4 m: 3 % more in the corners.
  const width = 9;
  const geometry: Geometry = { ...sketchGeometry(width, width), pixelSizeX: 0.25, pixelSizeY: 0.25 };
  const efficiency = cosTwoThetaMap(geometry).map((c) => 1 - Math.exp(-0.8 / c));
  const omega = solidAngleMap(geometry, "exact");

  it.each(["exact", "none"] as const)("count it once, with the solid angle %s", (solidAngle) => {
    const settings: PlanCorrections = {
      solidAngle,
      normaliseBy: "none",
      detectorAbsorption: { opticalDepth: 0.8 },
      flood: { smooth_px: 0 },
    };
    const even = efficiency.map((share, p) => 1e9 * share * omega[p]!);
    const c = sketchContext(settings, { sample: { counts: even }, flood: { counts: even } }, { width, geometry });
    const measured = measureRuns(settings, c.runs, { mask: c.mask, maps: c.maps });
    if (!measured.ok) throw new Error(measured.fault.message);
    const seen = { ...c, ...measured.value };
    correct(seen);
    const { terms, norm } = seen.branches.sample;
    const flat = norm.map((w, p) => (terms[0]!.value[p]! * terms[0]!.coefficient[p]!) / w);
    for (const value of flat) expect(value / flat[0]! - 1).toBeCloseTo(0, 12);
  });
});

describe("transmissions from direct beams", () => {
  const beam = {
    sensitivityVariance: 0,
    unknownSensitivity: 0,
    sharedVariance: 0,
    attenuation: 1,
    pixels: 1,
    maskedPixels: 0,
  };

  it("have the ratio and sigma worked by hand", () => {
    // 41250 - 0.1 x 1200 over 88800 - 0.2 x 1200, per monitor count of 6e6 and 12e6.
    const through = {
      ...beam,
      net: 41130,
      ownVariance: 41250,
      sharedVariance: 0.01 * 1200,
      normalisation: 6e6,
      normalisationRelativeVariance: 1 / 6e6,
    };
    const open = {
      ...beam,
      net: 88560,
      ownVariance: 88800,
      sharedVariance: 0.04 * 1200,
      normalisation: 12e6,
      normalisationRelativeVariance: 1 / 12e6,
    };
    const { value, sigma } = transmissionRatio(through, open);
    expect(value).toBeCloseTo(0.928861788618, 11);
    expect(sigma).toBeCloseTo(0.00556980301273, 12);
    // Without the covariance of the shared blocked beam: add it back.
    const shared = (2 * Math.sqrt(12 * 48)) / (41130 * 88560);
    expect(Math.sqrt(sigma ** 2 + value ** 2 * shared)).toBeCloseTo(0.00557082357028, 12);
  });

  it("account for an attenuator and its uncertainty", () => {
    const through = {
      ...beam,
      net: 500000,
      ownVariance: 500000,
      normalisation: 1e6,
      normalisationRelativeVariance: 1e-6,
    };
    const open = {
      ...beam,
      net: 12000,
      ownVariance: 12000,
      normalisation: 2e6,
      normalisationRelativeVariance: 5e-7,
      attenuation: 0.01,
      attenuationSigma: 1e-4,
    };
    expect(transmissionRatio(through, open).value).toBeCloseTo(0.833333333333, 11);
    expect(transmissionRatio(through, open).sigma).toBeCloseTo(0.0113905825299, 12);
    expect(beamIntensity(open).value).toBeCloseTo(0.6, 12);
  });

  it("scatter as they say", () => {
    const draw = poissonSource(11);
    const n = 4000;
    const [s, b] = [0.2, 0.4];
    let pull2 = 0;
    for (let i = 0; i < n; i++) {
      const [cs, co, cb] = [draw(700), draw(1500), draw(300)];
      const of = (c: number, scale: number, m: number) => ({
        ...beam,
        net: c - scale * cb,
        ownVariance: c,
        sharedVariance: scale * scale * cb,
        normalisation: m,
        normalisationRelativeVariance: 0,
      });
      const { value, sigma } = transmissionRatio(of(cs, s, 1), of(co, b, 2));
      pull2 += ((value - (700 - s * 300) / ((1500 - b * 300) / 2)) / sigma) ** 2;
    }
    // The mean of n squared pulls is 1 +- sqrt(2/n) = 0.022; four of them, and 0.01 for what is not linear.
    expect(Math.abs(pull2 / n - 1)).toBeLessThan(0.1);
  });
});

it("counts of a simple camera follow from its numbers", () => {
  // Flux 1e6 /cm^2/s, beam 8 mm, 600 s, efficiency 0.9, T 0.7, 1 mm, 5 mm pixel at 4 m, 1 /cm: 29.688 counts.
  const beamRate = 1e6 * Math.PI * 0.4 ** 2 * 0.9;
  const counts = 29.6880505764;
  const c = sketchContext(
    { absolute: { method: "direct-beam" }, solidAngle: "cosine-cubed" },
    {
      sample: {
        counts: [counts],
        metadata: { monitorCounts: inFile(600), thickness: inFile(1e-3) },
      },
    },
    {
      transmission: { sample: { value: 0.7, from: "given" } },
      directBeam: { value: beamRate, from: "given" },
    },
  );
  correct(c);
  expect(intensity(c).value).toBeCloseTo(1, 10);
});
