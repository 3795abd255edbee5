import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import truth from "../../../../samples/truth.json" with { type: "json" };
import { halation, type Ran } from "../../../support/command-line.ts";
import { REAL_FRAME } from "../../../support/real-frame.ts";
import { hasShared, sharedFile } from "../../../support/shared-data.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const SAMPLES = resolve(import.meta.dirname, "../../../../samples");
const root = temporaryFolder();
const drift = (n: number): string => join(SAMPLES, `drift-${n}.h5`);
const PLAN = join(SAMPLES, "drift.plan.json");

interface Report {
  readonly verdict: string;
  readonly reason: string;
  readonly stop: { readonly shape: string; readonly x_px: number; readonly y_px: number; readonly x_px_sigma: number };
  readonly beam: { readonly x_px: number; readonly method: string; readonly radius_px: number | null };
  readonly offset_px: readonly [number, number];
  readonly offset_mm: number | null;
  readonly margin_mm: number | null;
  readonly move_mm: readonly [number, number] | null;
  readonly qMin_1A: number | null;
  readonly total: { readonly counts: number };
}
const report = (ran: Ran): Report => ran.json() as unknown as Report;

function stopOf(file: string): readonly number[] {
  const run = truth.runs.find((entry) => entry.file === file);
  if (run === undefined || !("stop_px" in run) || run.stop_px === undefined) throw new Error(`no truth of ${file}`);
  return run.stop_px;
}

describe("halation beamstop", () => {
  it("finds stop and offset of the drifting stop where the simulation put them", async () => {
    const ran = await halation(["beamstop", drift(3), "--plan", PLAN, "--json"]);
    expect(ran.code).toBe(0);
    const found = report(ran);
    const [x = 0, y = 0] = stopOf("drift-3.h5");
    // Five of the report's own sigmas, about 0.04 px.
    expect(Math.abs(found.stop.x_px - x)).toBeLessThan(5 * found.stop.x_px_sigma);
    expect(Math.abs(found.stop.y_px - y)).toBeLessThan(0.2);
    expect(found.beam.method).toBe("direct-beam");
    const [beamX = 0, beamY = 0] = truth.camera.beamCentre_px;
    expect(found.offset_px[0]).toBeCloseTo(x - beamX, 0);
    // Bottom-up, 5 mm a pixel: the move undoes the offset.
    expect(found.move_mm?.[0]).toBeCloseTo(-5 * found.offset_px[0], 6);
    expect(found.move_mm?.[1]).toBeCloseTo(-5 * found.offset_px[1], 6);
    expect(Math.abs((found.offset_mm ?? 0) - 5 * Math.hypot(x - beamX, y - beamY))).toBeLessThan(1);
    expect(found.verdict).toBe("covered");
  });

  it("takes the direct beam from --direct, with paths from where the person is", async () => {
    const ran = await halation(["beamstop", drift(1), "--direct", join(SAMPLES, "direct.h5"), "--json"]);
    expect(report(ran)).toMatchObject({ verdict: "covered", beam: { method: "direct-beam" } });
  });

  it("finds the centre by symmetry where there is no direct beam", async () => {
    expect(report(await halation(["beamstop", drift(1), "--json"])).beam.method).toBe("symmetry");
  });

  it("begins with the sentence, gives numbers with sigma, and ends with the caution", async () => {
    const ran = await halation(["beamstop", drift(1), "--plan", PLAN]);
    const lines = ran.out.trimEnd().split("\n");
    expect(lines[0]).toMatch(
      /^Beam stop covers the beam: [\d.]+ mm to spare, [\d.]+ mm off centre; centre by the direct beam$/,
    );
    expect(ran.out).toMatch(/stop centre, x\s+[\d.]+ ± [\d.]+ px/);
    expect(lines.at(-1)).toContain("not a protection system");
    expect((await halation(["beamstop", "--help"])).out).toContain("not a protection system");
  });

  it("says that a rate is above the limit, and refuses a limit that is none", async () => {
    const ran = await halation(["beamstop", drift(1), "--plan", PLAN, "--max-total-rate", "100", "--json"]);
    expect(report(ran).verdict).toBe("marginal");
    expect(report(ran).reason).toContain("above the limit of 100 1/s");
    const wrong = await halation(["beamstop", drift(1), "--max-pixel-rate", "-3"]);
    expect([wrong.code, wrong.error]).toEqual([2, expect.stringContaining("--max-pixel-rate")]);
  });

  it("answers a file that is no frame, and one that is absent, with code 2 and its name", async () => {
    const text = join(root, "notes.txt");
    writeFileSync(text, "no frame here\n");
    for (const file of [text, join(root, "absent.h5")]) {
      const ran = await halation(["beamstop", file, "--json"]);
      expect(ran.code).toBe(2);
      expect(ran.error).toContain(file.slice(root.length + 1));
      expect(ran.json()).toHaveProperty("error.message");
    }
  });

  it.runIf(hasShared(REAL_FRAME))("gives pixels alone where distance and pixel size are unknown", async () => {
    const ran = await halation(["beamstop", sharedFile(REAL_FRAME), "--json"]);
    expect(ran.code).toBe(0);
    const found = report(ran);
    // Known answers of an independent fit, found with numpy and scipy (README beside the frame).
    expect(found.stop.shape).toBe("rectangle");
    expect(Math.abs(found.stop.x_px - 59.983)).toBeLessThan(0.05);
    expect(Math.abs(found.stop.y_px - 63.554)).toBeLessThan(0.05);
    expect(Math.abs(found.offset_px[0] + 0.344)).toBeLessThan(0.08);
    expect(Math.abs(found.offset_px[1] + 0.029)).toBeLessThan(0.08);
    expect(found).toMatchObject({ offset_mm: null, margin_mm: null, move_mm: null, qMin_1A: null });
    expect(found.beam.radius_px).toBeNull();
    expect(found.total.counts).toBe(375_950);
    expect(found.reason).toContain("the pixel size is not known");
  });
});
