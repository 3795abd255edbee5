import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { npyBytes } from "../../../../core/report/npy.ts";
import { halation } from "../../../support/command-line.ts";
import { poissonSource } from "../../../support/random.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const data = join(root, "data");
const SIDE = 32;
const OVERVIEW = ["overview.csv", "overview.json", "overview.png", "overview.svg"];

function writeFrame(name: string, seed: number): void {
  const draw = poissonSource(seed);
  const counts = Uint16Array.from({ length: SIDE * SIDE }, () => draw(10));
  writeFileSync(join(data, name), npyBytes(counts, { width: SIDE, height: SIDE }));
}

function writePlan(name: string, change: Readonly<Record<string, unknown>> = {}): string {
  const file = join(data, name);
  const plan = {
    planVersion: 1,
    title: "A morning's runs",
    runs: { sample: ["a.npy", "gone.npy", "b, second.npy"] },
    metadata: {
      all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [15.5, 15.5] },
      sample: { countTime_s: 100 },
    },
    corrections: { normaliseBy: "time" },
    averages: [{ id: "radial", kind: "radial" }],
    outputs: ["csv"],
    ...change,
  };
  writeFileSync(file, JSON.stringify(plan));
  return file;
}

beforeAll(() => {
  mkdirSync(data);
  writeFrame("a.npy", 1);
  writeFrame("b, second.npy", 2);
});

const statuses = (json: Readonly<Record<string, unknown>>) =>
  (json["results"] as readonly { readonly status: string }[]).map(({ status }) => status);

describe("a batch", () => {
  it("has an overview table and figure of all its samples, the failed one with its reason", async () => {
    const out = join(root, "overview");
    const { code, json } = await halation(["reduce", writePlan("o.json"), "--out", out, "--json"]);
    expect(code).toBe(3);
    expect(readdirSync(out).sort()).toEqual([".halation.json", "a", "b, second", ...OVERVIEW]);
    expect(statuses(json())).toEqual(["reduced", "failed", "reduced"]);

    const [head, ...rows] = readFileSync(join(out, "overview.csv"), "utf8").trim().split("\n");
    expect(head).toMatch(/^sample,folder,status,unit,transmission,transmission_sigma,/);
    expect(rows[0]).toMatch(/^a\.npy,a,reduced,counts\/s\/sr,/);
    expect(rows[1]).toMatch(/^gone\.npy,,failed,,.*there is no such file/);
    expect(rows[2]).toMatch(/^"b, second\.npy","b, second",reduced,/);
    const table = JSON.parse(readFileSync(join(out, "overview.json"), "utf8")) as {
      readonly samples: readonly Readonly<Record<string, unknown>>[];
    };
    const csv = readFileSync(join(out, "a/curves/radial.csv"), "utf8").trim().split("\n").slice(1);
    const counts = csv.reduce((sum, row) => sum + Number(row.split(",")[5]), 0);
    expect(table.samples[0]).toMatchObject({ sample: "a.npy", average: "radial", points: csv.length, counts });

    const svg = readFileSync(join(out, "overview.svg"), "utf8");
    for (const text of ["A morning", "b, second", "1 of 3 samples not shown"]) expect(svg).toContain(text);
  });

  it("takes up where it stopped: only what is missing, broken or different is done again", async () => {
    const out = join(root, "resumed");
    const plan = writePlan("r.json");
    await halation(["reduce", plan, "--out", out]);
    const made = () => statSync(join(out, "a/curves/radial.csv")).mtimeMs;
    const before = made();
    const figure = readFileSync(join(out, "overview.svg"), "utf8");

    const again = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(again.json())).toEqual(["kept", "failed", "kept"]);
    expect(again.code).toBe(3);
    expect(made()).toBe(before);
    // The curves of kept samples come from their files, to the last digit.
    expect(readFileSync(join(out, "overview.svg"), "utf8")).toBe(figure);

    rmSync(join(out, "a/curves/radial.csv"));
    writeFrame("gone.npy", 3);
    const mended = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(mended.json())).toEqual(["reduced", "reduced", "kept"]);
    expect(mended.code).toBe(0);

    writeFrame("a.npy", 4);
    const changed = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(changed.json())).toEqual(["reduced", "kept", "kept"]);

    writePlan("r.json", { averages: [{ id: "radial", kind: "radial", bins: { spacing: "linear", count: 20 } }] });
    const other = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(other.json())).toEqual(["reduced", "reduced", "reduced"]);

    // One sample more changes nothing about the others.
    writePlan("r.json", {
      averages: [{ id: "radial", kind: "radial", bins: { spacing: "linear", count: 20 } }],
      runs: { sample: ["a.npy", "gone.npy", "b, second.npy", "late.npy"] },
    });
    writeFrame("late.npy", 5);
    const longer = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(longer.json())).toEqual(["kept", "kept", "kept", "reduced"]);
  });

  it("makes a result anew whose summary somebody broke, and keeps a single one that is whole", async () => {
    const out = join(root, "single");
    const plan = writePlan("single.json", { runs: { sample: "b, second.npy" } });
    const made = () => statSync(join(out, "curves/radial.csv")).mtimeMs;
    await halation(["reduce", plan, "--out", out]);
    const before = made();
    expect((await halation(["reduce", plan, "--out", out, "--resume"])).out).toContain("kept as it was");
    expect(made()).toBe(before);
    writeFileSync(join(out, "summary.json"), "{ not JSON");
    expect((await halation(["reduce", plan, "--out", out, "--resume"])).code).toBe(0);
    expect(made()).toBeGreaterThan(before);
  });

  it("does not replace an overview that it did not make", async () => {
    const out = join(root, "foreign");
    mkdirSync(out);
    writeFileSync(join(out, "overview.csv"), "my own table");
    const plan = writePlan("f.json");
    const refused = await halation(["reduce", plan, "--out", out]);
    expect(refused.code).toBe(2);
    expect(refused.error).toContain("overview.csv");
    expect(readdirSync(out)).toEqual(["overview.csv"]);
    expect(readFileSync(join(out, "overview.csv"), "utf8")).toBe("my own table");
  });

  it("stops between two samples and leaves the finished one for --resume", async () => {
    const out = join(root, "stopped");
    const stop = new AbortController();
    const plan = writePlan("s.json", { runs: { sample: ["a.npy", "b, second.npy"] } });
    const watching = setInterval(() => existsSync(join(out, "a")) && stop.abort(), 1);
    const { code } = await halation(["reduce", plan, "--out", out, "--workers", "1"], { signal: stop.signal });
    clearInterval(watching);
    expect(code).toBe(130);
    expect(readdirSync(out)).toEqual(["a"]);
    const rest = await halation(["reduce", plan, "--out", out, "--resume", "--json"]);
    expect(statuses(rest.json())).toEqual(["kept", "reduced"]);
  });

  it.each(["0", "1.5", "many", "9999"])("refuses %s workers", async (workers) => {
    const { code, error } = await halation(["reduce", writePlan("w.json"), "--out", root, "--workers", workers]);
    expect([code, error]).toEqual([2, expect.stringContaining("--workers")]);
  });
});
