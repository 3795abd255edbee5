import { describe, expect, it } from "vitest";
import { assessBeamStop, type BeamStopInput } from "../../core/beam/assess-beam-stop.ts";
import { type BeamScene, countedFrame, expectedFrame } from "../support/beam-scene.ts";
import { REAL_FRAME, realFrame } from "../support/real-frame.ts";
import { hasShared } from "../support/shared-data.ts";

const orientation = { rowOrder: "bottom-up", transpose: false } as const;
const beam = { x: 38.3, y: 34.6 };
const halo = (dx: number, dy: number): number => 60 * Math.exp(-(dx * dx + dy * dy) / 162) + 6;
/** Halo and an even direct beam of 5 px radius, both behind the stop. */
const lit = (counts: number) => (dx: number, dy: number) =>
  halo(dx, dy) + counts / (1 + Math.exp((Math.hypot(dx, dy) - 5) / 0.25));

function scene(x: number, y: number, more: Partial<BeamScene> = {}): BeamScene {
  return {
    ...{ width: 80, height: 72, beam, halo, level: 0.2 },
    stop: { shape: "circle", x, y, size: 15, penumbra: 0.3 },
    ...more,
  };
}

function assess(of: BeamScene, seed: number, more: Partial<BeamStopInput> = {}) {
  return assessBeamStop({ frame: { ...countedFrame(expectedFrame(of), of.width, seed), ...orientation }, ...more });
}

// 5 mm pixels, 4 m, 6 A; apertures of 20 and 10 mm, 4 m apart: radius 10 + 10 = 20 mm = 4 px at the detector.
const camera = {
  ...{ pixelSize: [0.005, 0.005] as const, distance: 4, wavelength: 6 },
  collimation: { sourceAperture: 0.02, sampleAperture: 0.01, length: 4 },
};

describe("a stop that covers the beam", () => {
  const report = assess(scene(39.1, 33.9), 1, camera);

  it("is called covered, with offset, margin, move and Q as geometry has them", () => {
    expect(report.verdict).toBe("covered");
    expect(report.reason).toMatch(/^Beam stop covers the beam: \d+\.\d mm to spare/);
    // Truth: (0.8, -0.7) px; 1.063 px = 5.315 mm off; margin 7.5 - 1.063 - 4 = 2.437 px = 12.2 mm.
    const [sx, sy] = report.offset_px_sigma!;
    expect(Math.abs(report.offset_px![0] - 0.8)).toBeLessThan(4 * sx);
    expect(Math.abs(report.offset_px![1] + 0.7)).toBeLessThan(4 * sy);
    expect(Math.abs(report.offset_mm! - 5.315)).toBeLessThan(4 * report.offset_mm_sigma!);
    expect(Math.abs(report.margin_mm! - 12.185)).toBeLessThan(4 * report.margin_mm_sigma!);
    expect(report.beam!.radius_px).toBeCloseTo(4, 12);
    // The beam lies up and to the left of the stop's centre; the move goes there.
    expect(report.marginDirection_deg!).toBeGreaterThan(110);
    expect(report.marginDirection_deg!).toBeLessThan(165);
    expect(report.move_mm![0]).toBeCloseTo(-report.offset_px![0] * 5, 9);
    expect(report.move_mm![1]).toBeCloseTo(-report.offset_px![1] * 5, 9);
    // k rho / L is good to 1e-4 here: 7.5 px, half a pixel and 2.5 penumbrae of 0.3 px.
    const centred = (2 * Math.PI * (7.5 + 0.5 + 0.75) * 0.005) / (6 * 4);
    expect(Math.abs(report.qMinCentred_1A! / centred - 1)).toBeLessThan(0.03);
    expect(report.qMin_1A! - report.qMinCentred_1A!).toBeCloseTo((2 * Math.PI * 1.063 * 0.005) / 24, 3);
  });

  it("moves downwards in a picture whose rows run from the top", () => {
    const frame = {
      ...countedFrame(expectedFrame(scene(39.1, 33.9)), 80, 1),
      ...orientation,
      rowOrder: "top-down",
    } as const;
    const topDown = assessBeamStop({ frame, ...camera });
    expect(topDown.offset_px).toEqual(report.offset_px);
    expect(topDown.move_mm![1]).toBeCloseTo(-report.move_mm![1], 12);
    expect(topDown.marginDirection_deg).toBeCloseTo(360 - report.marginDirection_deg!, 9);
  });

  it("says nothing in mm or Q of what is not known: null, never 0", () => {
    const bare = assess(scene(39.1, 33.9), 1);
    expect(bare.verdict).toBe("covered");
    expect(bare).toMatchObject({
      offset_mm: null,
      margin_mm: null,
      qMin_1A: null,
      move_mm: null,
      beam: { radius_px: null },
    });
    expect(bare.offset_px).not.toBeNull();
    expect(bare.reason).toContain("size is not known");
  });

  it("takes centre and size of the beam from a direct-beam frame", () => {
    const direct = expectedFrame({ ...scene(0, 0, { halo: (dx, dy) => lit(50)(dx, dy) - halo(dx, dy) }), level: 0.05 });
    // No stop in the direct-beam frame.
    const { stop: _, ...open } = scene(0, 0, { halo: (dx, dy) => lit(50)(dx, dy) - halo(dx, dy), level: 0.05 });
    expect(direct.length).toBe(80 * 72);
    const withDirect = assess(scene(39.1, 33.9), 1, {
      ...camera,
      directBeam: countedFrame(expectedFrame(open), 80, 3),
    });
    expect(withDirect.beam).toMatchObject({ method: "direct-beam", radiusFrom: "direct-beam" });
    expect(Math.abs(withDirect.beam!.x_px - 38.3)).toBeLessThan(4 * withDirect.beam!.x_px_sigma!);
    // The disc ends at 5 px with a soft edge; its pixels reach half a pixel and their diagonal farther.
    expect(withDirect.beam!.radius_px!).toBeGreaterThan(5);
    expect(withDirect.beam!.radius_px!).toBeLessThan(6.8);
  });
});

describe("a stop that lets the beam pass", () => {
  it("is called leaking from the rim alone, where and with how many counts", () => {
    const report = assess(scene(41.5, 34.6, { halo: lit(1000) }), 2);
    expect(report.verdict).toBe("leaking");
    expect(report.leak!.significance).toBeGreaterThan(5);
    // The crescent lies at the left, 180 degrees.
    const worst = report.leak!.segments.reduce((a, b) => (b.significance > a.significance ? b : a));
    expect(Math.abs(worst.azimuth_deg - 180)).toBeLessThan(45);
  });

  it("keeps its centre although the leak bends the rim", () => {
    const { stop } = assess(scene(41.3, 34.6, { halo: lit(2000) }), 3);
    expect(Math.abs(stop!.x_px - 41.3)).toBeLessThan(5 * stop!.x_px_sigma!);
    expect(Math.abs(stop!.y_px - 34.6)).toBeLessThan(5 * stop!.y_px_sigma!);
  });

  it("is called leaking from geometry where the beam reaches beyond it", () => {
    const wide = { sourceAperture: 0.05, sampleAperture: 0.02, length: 4 };
    const report = assess(scene(39.1, 33.9), 1, { ...camera, collimation: wide });
    // 25 + 20 = 45 mm = 9 px, against 7.5.
    expect(report).toMatchObject({ verdict: "leaking", reason: expect.stringContaining("beyond the shadow") });
    // At least the share by which the beam's area exceeds the stop's: 1 - (7.5 / 9)^2.
    expect(report.leakedFraction!).toBeGreaterThan(0.28);
    expect(report.leakedFraction!).toBeLessThan(0.4);
  });

  it("is called leaking where the beam's centre is beside it", () => {
    const report = assess(scene(52, 28), 4);
    expect(report).toMatchObject({ verdict: "leaking", reason: expect.stringContaining("misses") });
  });
});

it("a margin of less than a pixel is marginal", () => {
  const collimation = { sourceAperture: 0.03, sampleAperture: 0.0145, length: 4 };
  // 15 + 14.5 = 29.5 mm = 5.9 px; 7.5 - 1.06 - 5.9 = 0.54 px.
  expect(assess(scene(39.1, 33.9), 1, { ...camera, collimation }).verdict).toBe("marginal");
});

it("a limit that is passed is said, and keeps the verdict from covered", () => {
  const report = assess(scene(39.1, 33.9), 1, { ...camera, countTime: 10, limits: { totalRate: 100 } });
  expect(report).toMatchObject({ verdict: "marginal", reason: expect.stringContaining("above the limit of 100") });
  expect(report.total.rate_1s).toBeCloseTo(report.total.counts / 10, 9);
});

it("cannot tell without a shadow, and gives the reason", () => {
  const { stop: _, ...open } = scene(0, 0);
  const report = assess(open, 5, camera);
  expect(report).toMatchObject({ verdict: "cannot-tell", stop: null, beam: null, offset_px: null, leak: null });
  expect(report.reason).toMatch(/^Cannot tell: /);
});

it.skipIf(!hasShared(REAL_FRAME))("the real frame is covered, 0.34 px off, and its rim is quiet", async () => {
  const report = assessBeamStop({ frame: { ...(await realFrame()), ...orientation } });
  expect(report.verdict).toBe("covered");
  expect(Math.abs(report.offset_px![0] + 0.344)).toBeLessThan(0.08);
  expect(Math.abs(report.offset_px![1] + 0.029)).toBeLessThan(0.08);
  expect(report.leak!.significance).toBeLessThan(2);
});

describe("the beam's centre", () => {
  it("is taken where it is chosen, said in the reason, and doubted where the halo has it elsewhere", () => {
    const chosen = assess(scene(39.1, 33.9), 1, { ...camera, chosenCentre: { x: 39.5, y: 34.6, method: "given" } });
    expect(chosen.beam).toMatchObject({ x_px: 39.5, y_px: 34.6, x_px_sigma: null, method: "given" });
    expect(chosen.offset_px![0]).toBeCloseTo(chosen.stop!.x_px - 39.5, 12);
    expect(chosen.offset_px_sigma).toBeNull();
    expect(chosen.reason).toContain("centre as given");
    // The truth is (38.3, 34.6): 1.2 px away.
    expect(chosen.warnings.join()).toMatch(
      /symmetry of the scattering has it at \(38\.\d+, 34\.\d+\) px, 1\.\d+ px away/,
    );
  });

  it("raises no doubt where the halo agrees, and is by symmetry where none is chosen", () => {
    const agreeing = assess(scene(39.1, 33.9), 1, { ...camera, chosenCentre: { ...beam, method: "given" } });
    expect(agreeing.warnings).toEqual([]);
    const plain = assess(scene(39.1, 33.9), 1, { ...camera, givenCentre: { x: 20, y: 20 } });
    expect(plain.beam).toMatchObject({ method: "symmetry" });
    expect(plain.reason).toContain("symmetry of the halo");
  });
});

it("direct beam all around a stop is called leaking, though no outline but the beam's own shows", () => {
  const around = scene(beam.x, beam.y, {
    halo: (dx, dy) => halo(dx, dy) + 2000 / (1 + Math.exp((Math.hypot(dx, dy) - 8) / 0.25)),
  });
  expect(assess(around, 6)).toMatchObject({ verdict: "leaking", stop: { shape: "circle" } });
});

it("a thin crescent of a hundredth of the frame's counts is called leaking, and an even rim is not", () => {
  // 100 counts a pixel of direct beam on 40 of halo; of its 5 px a crescent of half a pixel passes.
  for (const [counts, verdict] of [
    [0, "covered"],
    [100, "leaking"],
  ] as const)
    for (let seed = 1; seed <= 2; seed++) {
      const thin = { ...scene(41.3, 34.6, { halo: lit(counts) }) };
      const expected = expectedFrame(thin);
      const frame = { ...countedFrame(expected, 80, seed, 1e6), ...orientation };
      expect(assessBeamStop({ frame }).verdict).toBe(verdict);
    }
});
