import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { sphereIntensity } from "../../../../core/curves/sphere.ts";
import { openCurves } from "../../../../core/formats/curves/open-curves.ts";
import { parsePlan } from "../../../../core/plan/parse.ts";
import { openHdf5 } from "../../../../electron/services/open-hdf5.ts";
import { pathSource } from "../../../../electron/services/path-source.ts";
import { halation } from "../../../support/command-line.ts";
import { hasShared, sharedFile } from "../../../support/shared-data.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();

function writeCsv(name: string, rows: readonly (readonly number[])[]): string {
  const file = join(root, name);
  writeFileSync(file, `Q,I,dI\n${rows.map((row) => row.join(",")).join("\n")}\n`);
  return file;
}

const q = [0.01, 0.012, 0.014, 0.016, 0.018];
// A worked example: fixed point of effective-variance weighted least squares, by hand.
const reference = writeCsv(
  "first.csv",
  [13.3, 10.57, 8.73, 7.29, 6.22].map((v, i) => [q[i]!, v, [0.15, 0.12, 0.1, 0.1, 0.09][i]!]),
);
const other = writeCsv(
  "second.csv",
  [10, 8, 6.5, 5.4, 4.6].map((v, i) => [q[i]!, v, [0.2, 0.18, 0.15, 0.14, 0.12][i]!]),
);

async function readBack(file: string) {
  const curves = await openCurves(await pathSource(file), { signal: new AbortController().signal, openHdf5 });
  if (!curves.ok) throw new Error(curves.fault.message);
  return curves.value[0]!;
}

describe("merge", () => {
  it.each(["csv", "txt", "xml", "h5"])("writes %s that reads back, with the scale worked by hand", async (ending) => {
    const out = join(root, `merged.${ending}`);
    const argv = ["merge", reference, other, "--constant", "--out", out, "--json"];
    const { code, json, error } = await halation(argv);
    expect([code, error.match(/halation: .*/)]).toEqual([0, null]);
    const [fit] = json()["curves"] as readonly Readonly<Record<string, number>>[];
    expect(fit!["scale"]).toBeCloseTo(1.30107385342, 8);
    expect(fit!["constant"]).toBeCloseTo(0.245047897594, 7);
    expect(fit!["scale_sigma"]).toBeCloseTo(0.0575484414415, 8);
    expect(fit!["chi2"]).toBeCloseTo(0.150530275949, 7);
    const back = await readBack(out);
    expect(back.q).toHaveLength(10);
    // The canSAS numbers have nine digits, the others all of them.
    expect(back.intensity[0]).toBeCloseTo(13.3, 8);
    expect(back.intensity[1]).toBeCloseTo(1.30107385342 * 10 + 0.245047897594, 6);
    expect(back.sigma![1]).toBeCloseTo(1.30107385342 * 0.2, 6);
    expect(readFileSync(out, "latin1")).not.toMatch(/\bnan\b/i);
    const again = await halation(argv);
    expect([again.code, again.error]).toEqual([2, expect.stringContaining("--force")]);
    expect((await halation([...argv, "--force"])).code).toBe(0);
  });

  it("tells all about each command", async () => {
    for (const name of ["merge", "subtract", "rebin", "scale", "look"]) {
      const { code, out } = await halation([name, "--help"]);
      expect([code, out]).toEqual([0, expect.stringContaining(`halation ${name} CURVE`)]);
    }
  });

  it("brings a third curve onto the two before it", async () => {
    const third = writeCsv(
      "third.csv",
      [0.015, 0.017, 0.019, 0.021, 0.023].map((at) => [at, 40 * Math.exp(-((60 * at) ** 2)), 0.2]),
    );
    const out = join(root, "three.csv");
    const { code, json } = await halation(["merge", reference, other, third, "--out", out, "--json"]);
    expect(code).toBe(0);
    expect(json()["points"]).toBe(15);
    expect(readFileSync(out, "utf8").split("\n")[0]).toBe("Q,I,dI,dQ,pixels,counts");
  });

  it.each([
    [["--out", join(root, "merged.dat")], "--out"],
    [["--out", join(root, "x.csv"), "--q-min", "0.5"], "share 0 points"],
    [["--out", join(root, "x.csv"), "--q-min", "0.2", "--q-max", "0.1"], "--q-min"],
    [["--out", join(root, "x.csv"), "--q-max", "wide"], "--q-max"],
  ])("refuses %j in one sentence and writes nothing", async (more, named) => {
    const { code, error } = await halation(["merge", reference, other, ...more]);
    expect(code).toBe(2);
    expect(error.split("\n").at(-2)).toContain(named);
    expect(existsSync(more[1]!)).toBe(false);
  });
});

describe("subtract", () => {
  it("gives 0 for a curve less itself, with the sigma of both, and keeps its resolution", async () => {
    const resolved = join(root, "resolved.csv");
    writeFileSync(resolved, `Q,I,dI,dQ\n${q.map((at, i) => `${at},${5 - i},0.1,0.002`).join("\n")}\n`);
    const out = join(root, "nothing.h5");
    const { code, json } = await halation(["subtract", resolved, resolved, "--out", out, "--json"]);
    expect([code, json()["points"], json()["leftOut"]]).toEqual([0, 5, 0]);
    const back = await readBack(out);
    for (let i = 0; i < 5; i++) {
      expect(Math.abs(back.intensity[i]!)).toBeLessThan(1e-14);
      expect(back.sigma![i]).toBeCloseTo(0.1 * Math.SQRT2, 12);
      expect(back.qSigma![i]).toBeCloseTo(0.002, 12);
    }
  });

  it("takes a factor, says what it leaves out, and writes how the curve came about", async () => {
    const wide = writeCsv(
      "wide.csv",
      [0.005, ...q].map((at) => [at, 9, 0.3]),
    );
    const level = writeCsv(
      "level.csv",
      q.map((at) => [at, 2, 0.1]),
    );
    const out = join(root, "less.xml");
    const { code, json } = await halation(["subtract", wide, level, "--factor", "2", "--out", out, "--json"]);
    expect([code, json()["points"], json()["leftOut"], json()["factor"]]).toEqual([0, 5, 1, 2]);
    const back = await readBack(out);
    // 9 - 2 x 2, and sqrt(0.3^2 + (2 x 0.1)^2).
    expect(back.intensity[0]).toBeCloseTo(5, 8);
    expect(back.sigma![0]).toBeCloseTo(Math.sqrt(0.13), 8);
    expect(readFileSync(out, "utf8")).toContain("subtract");
  });

  it.each([
    [["--factor", "-1"], "--factor"],
    [["--factor", "much"], "--factor"],
  ])("refuses %j in one sentence", async (more, named) => {
    const { code, error } = await halation(["subtract", reference, other, "--out", join(root, "no.csv"), ...more]);
    expect([code, error]).toEqual([2, expect.stringContaining(named)]);
    expect(existsSync(join(root, "no.csv"))).toBe(false);
  });

  it("refuses curves in two units, and one without uncertainties", async () => {
    const [one, two] = [join(root, "one.xml"), join(root, "two.xml")];
    await halation(["scale", reference, "--factor", "1", "--out", one]);
    const text = readFileSync(one, "utf8");
    const inUnit = (unit: string) => text.replace(/(<I(?:dev)? unit=")[^"]*/g, `$1${unit}`);
    writeFileSync(one, inUnit("1/cm"));
    writeFileSync(two, inUnit("1/m"));
    const mixed = await halation(["subtract", one, two, "--out", join(root, "no.csv")]);
    expect([mixed.code, mixed.error]).toEqual([2, expect.stringContaining("two.xml is in 1/m")]);
    expect((await halation(["subtract", one, other, "--out", join(root, "one-less.csv")])).code).toBe(0);
    const bare = join(root, "no-sigma.csv");
    writeFileSync(bare, "Q,I\n0.01,3\n0.02,2\n");
    const out = ["--out", join(root, "no.csv")];
    expect((await halation(["subtract", reference, bare, ...out])).error).toContain(
      "no-sigma.csv has no uncertainties",
    );
    const gone = await halation(["subtract", reference, join(root, "gone.csv"), ...out]);
    expect([gone.code, gone.error]).toEqual([2, expect.stringContaining("gone.csv")]);
  });
});

describe("rebin", () => {
  const fine = writeCsv(
    "fine.csv",
    Array.from({ length: 40 }, (_, i) => [0.01 + 0.001 * i, 2, i % 2 === 0 ? 0.1 : 0.2]),
  );

  it("gives the weighted mean of a bin and its sigma", async () => {
    const out = join(root, "coarse.csv");
    const argv = ["rebin", fine, "--bins", "4", "--spacing", "linear", "--q-min", "0.0095", "--q-max", "0.0495"];
    const { code, json } = await halation([...argv, "--out", out, "--json"]);
    expect([code, json()["points"], json()["pointsBefore"], json()["leftOut"]]).toEqual([0, 4, 40, 0]);
    const back = await readBack(out);
    for (let b = 0; b < 4; b++) {
      expect(back.intensity[b]).toBeCloseTo(2, 12);
      // Five points of 0.1 and five of 0.2: 1/sqrt(5/0.01 + 5/0.04).
      expect(back.sigma![b]).toBeCloseTo(0.04, 12);
      // Weights 4 to 1, the light ones 0.001 higher: 0.004 + 0.2 x 0.001 from the first point.
      expect(back.q[b]).toBeCloseTo(0.0142 + 0.01 * b, 12);
    }
  });

  it("takes edges, and tells of points outside", async () => {
    const out = join(root, "edges.csv");
    const { code, json } = await halation(["rebin", fine, "--edges", "0.0095,0.0195,0.0395", "--out", out, "--json"]);
    expect([code, json()["points"], json()["leftOut"]]).toEqual([0, 2, 10]);
  });

  it.each([
    [[], "--bins"],
    [["--bins", "4", "--edges", "0.01,0.02"], "--bins"],
    [["--edges", "0.02,0.01"], "--edges"],
    [["--edges", "0.02,,0.03"], "--edges"],
    [["--bins", "4", "--spacing", "even"], "--spacing"],
    [["--edges", "1,2"], "no point"],
  ])("refuses %j in one sentence", async (more, named) => {
    const { code, error } = await halation(["rebin", fine, "--out", join(root, "no.csv"), ...more]);
    expect([code, error]).toEqual([2, expect.stringContaining(named)]);
  });
});

describe("look", () => {
  const R = 50;
  const sphere = { radius: R, volumeFraction: 0.01, contrast: 5e-6 };
  const at = Array.from({ length: 26 }, (_, i) => 0.005 + 0.001 * i);
  // Equal weights in ln I: sigma goes with I.
  const file = writeCsv(
    "sphere.csv",
    at.map((v) => [v, sphereIntensity(v, sphere), 0.01 * sphereIntensity(v, sphere)]),
  );

  it("gives the radius of gyration of a sphere with the bias that the range has", async () => {
    const { json } = await halation(["look", file, "--guinier", "--json"]);
    const found = json();
    // An independent fit of the same 26 points: 39.3541 against sqrt(3/5) 50 = 38.7298.
    expect(found["rg_A"]).toBeCloseTo(39.3541417961, 5);
    expect(found["forwardIntensity"]).toBeCloseTo(13.1171958235, 5);
    expect(found["residuals"]).toHaveLength(26);
    const narrow = (await halation(["look", file, "--guinier", "--q-max", "0.012", "--json"])).json();
    // The bias goes with the square of the range: 0.62 (0.012/0.03)^2.
    expect(Math.abs((narrow["rg_A"] as number) - Math.sqrt(3 / 5) * R)).toBeLessThan(0.15);
  });

  it("gives the exponent of a power law", async () => {
    const law = writeCsv(
      "law.csv",
      at.map((v) => [v, 3e-6 * v ** -4, 1e-7 * v ** -4]),
    );
    const found = (await halation(["look", law, "--porod", "--json"])).json();
    expect(found["exponent"]).toBeCloseTo(4, 9);
    expect((found["constant"] as number) / 3e-6).toBeCloseTo(1, 9);
    expect((await halation(["look", law, "--porod"])).out).toContain("exponent 4");
  });

  it("needs one kind, points with uncertainties and a file that is there", async () => {
    expect((await halation(["look", file])).error).toContain("--guinier");
    expect((await halation(["look", file, "--guinier", "--porod"])).code).toBe(2);
    const bare = join(root, "bare.csv");
    writeFileSync(bare, "Q,I\n0.01,3\n0.02,2\n0.03,1\n");
    expect((await halation(["look", bare, "--guinier"])).error).toContain("bare.csv");
    expect((await halation(["look", join(root, "gone.csv"), "--guinier"])).code).toBe(2);
  });
});

describe("scale", () => {
  it("prints what a plan takes as its absolute scale", async () => {
    const known = writeCsv(
      "known.csv",
      q.map((v) => [v, 5 * Math.exp(-10 * v), 0.01]),
    );
    const measured = writeCsv(
      "measured.csv",
      q.map((v) => [v, 200 * Math.exp(-10 * v), 2]),
    );
    const { json } = await halation(["scale", measured, "--reference", known, "--json"]);
    const absolute = json()["absolute"] as { readonly value: number; readonly sigma: number };
    expect(absolute.value).toBeCloseTo(0.025, 12);
    expect(absolute.sigma).toBeGreaterThan(0);
    const plan = { planVersion: 1, runs: { sample: "a.h5" }, corrections: { absolute } };
    expect(parsePlan(JSON.stringify(plan), "plan.json").ok).toBe(true);
  });

  it("writes the scaled curve, by a factor or by the fit", async () => {
    const known = writeCsv(
      "known-2.csv",
      q.map((v) => [v, 5, 0.01]),
    );
    const measured = writeCsv(
      "measured-2.csv",
      q.map((v) => [v, 200, 2]),
    );
    const [fitted, by] = [join(root, "fitted.csv"), join(root, "by.h5")];
    const { code, json } = await halation(["scale", measured, "--reference", known, "--out", fitted, "--json"]);
    expect([code, json()["out"]]).toEqual([0, fitted]);
    expect((await readBack(fitted)).intensity[0]).toBeCloseTo(5, 12);
    expect((await halation(["scale", measured, "--factor", "0.5", "--out", by])).code).toBe(0);
    const back = await readBack(by);
    expect([back.intensity[2], back.sigma![2]]).toEqual([100, 1]);
    expect((await halation(["scale", measured])).error).toContain("--reference");
    expect((await halation(["scale", measured, "--factor", "2"])).error).toContain("--out");
    expect((await halation(["scale", measured, "--factor", "2", "--reference", known, "--out", by])).code).toBe(2);
  });

  const [own, published] = ["data/curves/C4_D11_6A.xml", "data/curves/C4_D22_6A.xml"];
  it.skipIf(!hasShared(published!))(
    "brings a carbon that was measured in counts onto its published curve",
    async () => {
      // The published curve (canSAS-org/1dwg, C4 of 2009) over a known factor: the fit must give the factor back.
      const loaded = await openCurves(await pathSource(sharedFile(published!)), {
        signal: new AbortController().signal,
        openHdf5,
      });
      if (!loaded.ok) throw new Error(loaded.fault.message);
      const { q: at, intensity, sigma } = loaded.value[0]!;
      // A row of the file as it is printed there.
      const row = at.indexOf(0.1513);
      expect([intensity[row], sigma![row]]).toEqual([2.701, 0.01093]);
      const inCounts = writeCsv(
        "carbon.csv",
        Array.from(at, (v, i) => [v, intensity[i]! / 0.031, sigma![i]! / 0.031]),
      );
      const range = ["--q-min", "0.02", "--q-max", "0.2"];
      const { json } = await halation(["scale", inCounts, "--reference", sharedFile(published!), ...range, "--json"]);
      const { absolute, reducedChi2 } = json() as unknown as {
        readonly absolute: { readonly value: number };
        readonly reducedChi2: number;
      };
      // One Q stands twice in the file; between its two points the reference is the first.
      expect(Math.abs(absolute.value / 0.031 - 1)).toBeLessThan(1e-3);
      expect(reducedChi2).toBeLessThan(0.5);
    },
  );

  it.skipIf(!hasShared(own!))("agrees with two published measurements of one glassy carbon", async () => {
    const range = ["--q-min", "0.02", "--q-max", "0.1"];
    const argv = ["scale", sharedFile(own!), "--reference", sharedFile(published!), ...range, "--json"];
    const { code, json } = await halation(argv);
    expect(code).toBe(0);
    const { absolute, points, reducedChi2, warnings } = json() as unknown as {
      readonly absolute: { readonly value: number; readonly sigma: number };
      readonly points: number;
      readonly reducedChi2: number;
      readonly warnings: readonly string[];
    };
    // Common glassy carbon of the canSAS round robin (canSAS-org/1dwg): the same plate in two cameras, within 2 %.
    // Weighted least squares done independently: 0.9866 +- 0.0009 from 53 points, reduced chi-square 5.6.
    expect(points).toBe(53);
    expect(absolute.value).toBeCloseTo(0.9866, 3);
    expect(absolute.sigma).toBeCloseTo(0.0009, 4);
    // There with the variances as they are, here with the fitted factor in them: 1.3 % apart.
    expect(Math.abs(reducedChi2 - 5.6)).toBeLessThan(0.15);
    expect(warnings[0]).toContain("differ in shape");
  });
});
