import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { npyBytes } from "../../../../core/report/npy.ts";
import { halation, type Ran } from "../../../support/command-line.ts";
import { poissonSource } from "../../../support/random.ts";

const SIDE = 64;
const PLAN = {
  planVersion: 1,
  runs: { sample: ["stretched-300.npy", "rest-0.npy"] },
  metadata: { all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [30.3, 32.9] } },
  corrections: { normaliseBy: "none", solidAngle: "none" },
  averages: [{ id: "ring", kind: "annulus", qMin: 0.03, qMax: 0.06 }],
};

/** Counts with I = fall (1 + anisotropy cos 2(phi - 0.5 rad)): alignment factor half of that, axis 28.65 degrees. */
function frame(anisotropy: number, seed: number): Uint8Array {
  const draw = poissonSource(seed);
  const counts = Float64Array.from({ length: SIDE * SIDE }, (_, p) => {
    const [dx, dy] = [(p % SIDE) - 30.3, Math.floor(p / SIDE) - 32.9];
    const shape = 1 + anisotropy * Math.cos(2 * (Math.atan2(dy, dx) - 0.5));
    return draw((400 * shape) / (1 + (dx * dx + dy * dy) / 200));
  });
  return npyBytes(counts, { width: SIDE, height: SIDE });
}

interface Annulus {
  readonly axis_deg: number;
  readonly axis_deg_sigma: number;
  readonly alignment: number;
  readonly harmonics: readonly { readonly order: number }[];
}

describe("halation anisotropy", () => {
  let folder: string;
  let plan: string;
  let ran: Ran;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), "halation-anisotropy-"));
    plan = join(folder, "series.plan.json");
    await writeFile(plan, JSON.stringify(PLAN));
    await writeFile(join(folder, "stretched-300.npy"), frame(0.4, 3));
    await writeFile(join(folder, "rest-0.npy"), frame(0, 4));
    ran = await halation([
      "anisotropy",
      plan,
      "--json",
      "--series-from",
      "file-name",
      "--series-values",
      "310,",
      "--series-label",
      "Shear rate (1/s)",
      "--out",
      join(folder, "out"),
    ]);
  }, 60_000);
  afterAll(() => rm(folder, { recursive: true, force: true }));

  it("answers with annuli and spectrum of the first sample, and the series", () => {
    expect(ran.error).toBe("");
    expect(ran.code).toBe(0);
    const json = ran.json();
    const [ring] = json["annuli"] as Annulus[];
    // 0.5 rad.
    expect(Math.abs(ring!.axis_deg - 28.648)).toBeLessThan(4 * ring!.axis_deg_sigma);
    expect(ring!.axis_deg_sigma).toBeLessThan(1);
    expect(Math.abs(ring!.alignment - 0.2)).toBeLessThan(0.01);
    expect(ring!.harmonics.map(({ order }) => order)).toEqual([1, 2, 3, 4, 6]);
    expect((json["spectrum"] as Annulus[]).length).toBeGreaterThan(10);
    expect(json["verdict"]).toBe("anisotropic");
    const series = json["series"] as { readonly file: string; readonly value: number; readonly verdict: string }[];
    expect(series.map(({ file, value, verdict }) => [file, value, verdict])).toEqual([
      ["stretched-300.npy", 310, "anisotropic"],
      ["rest-0.npy", 0, "isotropic"],
    ]);
    expect(json["seriesAxis"]).toEqual({ label: "Shear rate", unit: "1/s" });
  });

  it("writes the answer, the series, maps, tables and figures", async () => {
    const names = (await readdir(join(folder, "out"), { recursive: true })).map((name) => name.replaceAll("\\", "/"));
    for (const name of [
      "anisotropy.json",
      "series.csv",
      "figures/series-ring-alignment.svg",
      "figures/series-ring-alignment.png",
      "stretched-300/spectrum.csv",
      "stretched-300/sectors.csv",
      "stretched-300/residual.npy",
      "stretched-300/qxqy-intensity.npy",
      "stretched-300/qxqy-sigma.npy",
      "stretched-300/qxqy.h5",
      "stretched-300/figures/profile-ring.svg",
      "stretched-300/figures/residual.png",
    ])
      expect(names).toContain(name);
    const lines = (await readFile(join(folder, "out", "series.csv"), "utf8")).trimEnd().split("\n");
    expect(lines[0]).toBe(
      "file,value,annulus,qMin_1A,qMax_1A,axis_deg,axis_deg_sigma,alignment,alignment_sigma,p2,p2_sigma,pIsotropic,pCentred",
    );
    expect(lines).toHaveLength(3);
    const [ring] = ran.json()["annuli"] as Annulus[];
    expect(lines[1]).toContain(`stretched-300.npy,310,ring,0.03,0.06,${ring!.axis_deg},`);
  });

  it("measures the middle third of Q where the plan has no annulus, and says so", async () => {
    const { averages: _averages, ...without } = PLAN;
    const file = join(folder, "bare.plan.json");
    await writeFile(file, JSON.stringify({ ...without, runs: { sample: "rest-0.npy" } }));
    const bare = await halation(["anisotropy", file, "--json"]);
    expect(bare.error).toBe("");
    const json = bare.json();
    expect(json["annulusIsDefault"]).toBe(true);
    const [middle] = json["annuli"] as { readonly id: string; readonly qMin_1A: number; readonly qMax_1A: number }[];
    expect(middle!.id).toBe("middle");
    const spectrum = json["spectrum"] as { readonly qMin_1A: number; readonly qMax_1A: number }[];
    const [low, high] = [spectrum[0]!.qMin_1A, spectrum.at(-1)!.qMax_1A];
    // Equal thirds in ln Q.
    expect(Math.abs(middle!.qMin_1A ** 3 / (low * low * high) - 1)).toBeLessThan(1e-9);
    expect(Math.abs(middle!.qMax_1A ** 3 / (low * high * high) - 1)).toBeLessThan(1e-9);
    const text = await halation(["anisotropy", file]);
    expect(text.out).toContain("the plan has no annulus");
  }, 60_000);

  it.each([
    [["--field", "north"], "--field"],
    [["--sector", "60"], "--sector"],
    [["--series-values", "1,two"], "--series-values"],
    [["--series-values", "1,2,3"], "--series-values"],
    [["--series-values", "1,"], "--series-values"],
    [["--series-from", "temperature"], "--series-from"],
  ])("refuses %j and names the option", async (options, name) => {
    const refused = await halation(["anisotropy", plan, ...options]);
    expect(refused.code).toBe(2);
    expect(refused.error).toContain(name);
  });
});
