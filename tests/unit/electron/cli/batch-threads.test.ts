import { execFile } from "node:child_process";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, relative, resolve } from "node:path";
import { promisify } from "node:util";
import { expect, it } from "vitest";
import { npyBytes } from "../../../../core/report/npy.ts";
import { poissonSource } from "../../../support/random.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const run = promisify(execFile);
const program = resolve(import.meta.dirname, "../../../../electron/launch/halation.mjs");
const root = temporaryFolder();
const SIDE = 32;

function filesBelow(folder: string): ReadonlyMap<string, string> {
  const entries = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
  return new Map(
    entries
      .map((entry) => join(entry.parentPath, entry.name))
      .sort()
      .map((path) => [relative(folder, path), readFileSync(path, "base64")]),
  );
}

// Threads run the built program; from the sources there is but the process itself.
it("gives the same bytes from two threads as from the process itself, and tells of what failed in either", async () => {
  mkdirSync(join(root, "data"));
  const sample = [1, 2, 3, 4].map((seed) => {
    const draw = poissonSource(seed);
    const counts = Uint16Array.from({ length: SIDE * SIDE }, () => draw(10));
    writeFileSync(join(root, "data", `${seed}.npy`), npyBytes(counts, { width: SIDE, height: SIDE }));
    return `${seed}.npy`;
  });
  const plan = join(root, "data", "plan.json");
  writeFileSync(
    plan,
    JSON.stringify({
      planVersion: 1,
      runs: { sample: ["0.npy", ...sample, "9.npy"] },
      metadata: {
        all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [15.5, 15.5] },
        sample: { countTime_s: 100 },
      },
      corrections: { normaliseBy: "time" },
      outputs: ["csv", "figures"],
    }),
  );
  const reduce = async (workers: string) => {
    const out = join(root, `by-${workers}`);
    const failed = await run(process.execPath, [program, "reduce", plan, "--out", out, "--workers", workers]).then(
      () => undefined,
      (error: { readonly code: number; readonly stderr: string }) => error,
    );
    expect(failed?.code).toBe(3);
    for (const name of ["0.npy", "9.npy"]) expect(failed?.stderr).toContain(name);
    return filesBelow(out);
  };
  const [one, two] = [await reduce("1"), await reduce("2")];
  expect([...one.keys()].filter((name) => name.endsWith("summary.json"))).toHaveLength(4);
  expect(two).toEqual(one);
}, 180_000);
