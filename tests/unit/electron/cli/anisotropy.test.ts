import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { halation, type Ran } from "../../../support/command-line.ts";
import { SAMPLES } from "../../../support/reduce-sample.ts";

const PLAN = join(SAMPLES, "rods.plan.json");

interface Annulus {
  readonly axis_deg: number;
  readonly axis_deg_sigma: number;
  readonly alignment: number;
  readonly harmonics: readonly { readonly order: number }[];
}

describe("halation anisotropy", () => {
  let folder: string;
  let ran: Ran;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), "halation-anisotropy-"));
    ran = await halation([
      "anisotropy",
      PLAN,
      "--json",
      "--sample",
      join(SAMPLES, "rods-shear-300.h5"),
      join(SAMPLES, "rods-rest.h5"),
      "--series-values",
      "300,0",
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
    // The truth of the sample: director at 8 degrees, so that the strongest scattering is at 98.
    expect(Math.abs(ring!.axis_deg - 98)).toBeLessThan(0.5);
    expect(ring!.axis_deg_sigma).toBeGreaterThan(0.01);
    expect(ring!.harmonics.map(({ order }) => order)).toEqual([1, 2, 3, 4, 6]);
    expect((json["spectrum"] as Annulus[]).length).toBeGreaterThan(10);
    expect(json["verdict"]).toBe("anisotropic");
    const series = json["series"] as { readonly file: string; readonly value: number; readonly verdict: string }[];
    expect(series.map(({ file, value, verdict }) => [file, value, verdict])).toEqual([
      ["rods-shear-300.h5", 300, "anisotropic"],
      ["rods-rest.h5", 0, "isotropic"],
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
      "rods-shear-300/spectrum.csv",
      "rods-shear-300/sectors.csv",
      "rods-shear-300/residual.npy",
      "rods-shear-300/qxqy-intensity.npy",
      "rods-shear-300/qxqy-sigma.npy",
      "rods-shear-300/qxqy.h5",
      "rods-shear-300/figures/profile-ring.svg",
      "rods-shear-300/figures/residual.png",
    ])
      expect(names).toContain(name);
    const lines = (await readFile(join(folder, "out", "series.csv"), "utf8")).trimEnd().split("\n");
    expect(lines[0]).toBe(
      "file,value,annulus,qMin_1A,qMax_1A,axis_deg,axis_deg_sigma,alignment,alignment_sigma,p2,p2_sigma,pIsotropic,pCentred",
    );
    expect(lines).toHaveLength(3);
    const [ring] = ran.json()["annuli"] as Annulus[];
    expect(lines[1]).toContain(`rods-shear-300.h5,300,ring,0.02,0.03,${ring!.axis_deg},`);
  });

  it("measures the middle third of Q where the plan has no annulus, and says so", async () => {
    const plan = join(folder, "bare.plan.json");
    await writeFile(
      plan,
      JSON.stringify({
        planVersion: 1,
        runs: { sample: join(SAMPLES, "rods-rest.h5") },
        beamCentre: { method: "symmetry" },
        mask: { auto: ["beam-stop"] },
      }),
    );
    const bare = await halation(["anisotropy", plan, "--json"]);
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
    const text = await halation(["anisotropy", plan]);
    expect(text.out).toContain("the plan has no annulus");
  }, 60_000);

  it.each([
    [["--field", "north"], "--field"],
    [["--sector", "60"], "--sector"],
    [["--series-values", "1,two"], "--series-values"],
    [["--series-values", "1,2"], "--series-values"],
    [["--series-from", "temperature"], "--series-from"],
  ])("refuses %j and names the option", async (options, name) => {
    const refused = await halation(["anisotropy", PLAN, ...options]);
    expect(refused.code).toBe(2);
    expect(refused.error).toContain(name);
  });
});
