import { execFile } from "node:child_process";
import { resolve } from "node:path";
import { promisify } from "node:util";
import { expect, it } from "vitest";

const ROOT = resolve(import.meta.dirname, "../..");
const run = promisify(execFile);

/** Changed files of all formats in each run; other seeds by hand. */
const FILES = 20_000;
const SEED = 5;
/** Processes that share them: as many as the smallest machine that tests run on has processors. */
const PROCESSES = 2;

/** What tests/bench/fuzz-formats.ts prints. */
interface Figures {
  readonly bugs: number;
  readonly baselineMiB: number;
  readonly peakMiB: number;
  readonly slowest: { readonly ms: number };
  readonly counts: Readonly<Record<string, number>>;
}

// No more than 5 s of computing on one file: the program counts a longer one as a bug.
it("20 000 changed files of all formats are frames, curves or faults, soon and within memory", {
  timeout: 900_000,
}, async () => {
  await run(process.execPath, ["electron/launch/build.mjs", "fuzz"], { cwd: ROOT });
  const part = async (index: number): Promise<Figures> => {
    const [first, end] = [index, index + 1].map((i) => String((i * FILES) / PROCESSES));
    const { stdout } = await run(process.execPath, ["dist/fuzz/fuzz-formats.js", end!, String(SEED), first!], {
      cwd: ROOT,
    });
    return JSON.parse(stdout) as Figures;
  };
  const figures = await Promise.all(Array.from({ length: PROCESSES }, (_, index) => part(index)));
  const outcomes = { frame: 0, curve: 0, fault: 0 };
  for (const { bugs, baselineMiB, peakMiB, counts } of figures) {
    expect(bugs).toBe(0);
    // 256 MiB for the HDF5 library, 64 MiB for what a small file may unpack to, and as much again for what holds them.
    expect(peakMiB - baselineMiB).toBeLessThan(640);
    for (const [key, count] of Object.entries(counts))
      outcomes[key.split(" ").at(-1) as keyof typeof outcomes] += count;
  }
  expect(outcomes.frame + outcomes.curve + outcomes.fault).toBe(FILES);
  // Changes that do nothing, and changes that matter: both kinds are among them.
  expect(outcomes.frame).toBeGreaterThan(FILES / 10);
  expect(outcomes.fault).toBeGreaterThan(FILES / 10);
  expect(outcomes.curve).toBeGreaterThan(0);
});
