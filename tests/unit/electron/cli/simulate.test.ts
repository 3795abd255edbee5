import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { halation } from "../../../support/command-line.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const LANTERN = resolve(import.meta.dirname, "../../../../samples/lantern.scene.json");

interface SceneText {
  readonly camera: Readonly<Record<string, unknown>>;
  readonly runs: readonly { readonly kind: string; readonly sample?: string }[];
}

/** The sample scene on a small bank, with one blocked run and one of the open beam: no cross-sections to tabulate. */
function smallScene(change: Readonly<Record<string, unknown>> = {}): string {
  const scene = JSON.parse(readFileSync(LANTERN, "utf8")) as SceneText;
  const runs = ["blocked", "direct"].map((kind) =>
    scene.runs.find((run) => run.kind === kind && run.sample === undefined),
  );
  const camera = { ...scene.camera, width: 32, height: 32, beamCentre_px: [15, 16] };
  const file = join(root, "scene.json");
  writeFileSync(file, JSON.stringify({ ...scene, camera, samples: {}, runs, ...change }));
  return file;
}

const simulate = (out: string, ...more: string[]) =>
  halation(["simulate", smallScene(), "--out", join(root, out), "--json", ...more]);

describe("simulate", () => {
  it("takes the runs of a scene, the same for the same seed and others for another", async () => {
    const first = await simulate("first", "--seed", "7");
    expect([first.code, first.error]).toEqual([0, ""]);
    const runs = first.json()["runs"] as readonly { file: string; counts: number }[];
    expect(runs).toHaveLength(2);
    expect(readdirSync(join(root, "first")).sort()).toEqual(
      [".halation.json", ...runs.map((run) => run.file), "truth.json"].sort(),
    );
    expect((await simulate("second", "--seed", "7")).json()["runs"]).toEqual(runs);
    expect((await simulate("third", "--seed", "8")).json()["runs"]).not.toEqual(runs);
    const [run] = runs;
    const inspected = await halation(["inspect", join(root, "first", run?.file ?? ""), "--json"]);
    expect(inspected.json()).toMatchObject({
      format: "nexus",
      banks: [{ width: 32, height: 32 }],
      statistics: { total: run?.counts },
    });
  });

  it.each(["0", "-1", "1.5", "many", "4294967296"])("refuses %s as a seed, and names the option", async (seed) => {
    const { code, json } = await simulate("seed", `--seed=${seed}`);
    expect(code).toBe(2);
    expect(json()).toMatchObject({ error: { code: "out-of-range", field: "--seed" } });
    expect(readdirSync(root)).not.toContain("seed");
  });

  it("names the key of a scene that is wrong", async () => {
    const scene = smallScene({ title: 5 });
    const { code, error } = await halation(["simulate", scene, "--out", join(root, "wrong")]);
    expect(code).toBe(2);
    expect(error).toContain("title");
    expect(error.trim().split("\n")).toHaveLength(1);
    expect(readdirSync(root)).not.toContain("wrong");
  });
});
