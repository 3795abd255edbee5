import { existsSync, mkdirSync, readdirSync, readFileSync, unlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it, vi } from "vitest";
import { npyBytes } from "../../../../core/report/npy.ts";
import { halation, type Ran } from "../../../support/command-line.ts";
import { poissonSource } from "../../../support/random.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const SIDE = 48;
const CENTRE = 23.5;
let count = 0;

interface Line {
  readonly sequence: number;
  readonly file: string;
  readonly verdict: string | null;
  readonly previousVerdict: string | null;
  readonly replaced: boolean;
  readonly totalRate_1s?: number;
  readonly total_counts?: number;
  readonly error?: { readonly message: string };
}

/** A halo with a round stop of 6 px; the direct beam beside it where it leaks. */
function frame(seed: number, { leaks = false } = {}): Uint8Array {
  const draw = poissonSource(seed);
  const counts = new Uint16Array(SIDE * SIDE);
  for (let y = 0; y < SIDE; y++) {
    for (let x = 0; x < SIDE; x++) {
      const r = Math.hypot(x - CENTRE, y - CENTRE);
      const halo = 20 + 400 * Math.exp(-(r * r) / 200);
      const beam = leaks && r > 6 && r < 8 && x > CENTRE && Math.abs(y - CENTRE) < 2 ? 3000 : 0;
      counts[y * SIDE + x] = draw(r < 6 ? 0.5 : halo + beam);
    }
  }
  return npyBytes(counts, { width: SIDE, height: SIDE });
}

const PLAN = {
  planVersion: 1,
  runs: { sample: "any.npy", emptyCell: undefined },
  metadata: {
    all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [CENTRE, CENTRE] },
    sample: { countTime_s: 100 },
  },
  mask: { auto: ["beam-stop"] },
  corrections: { normaliseBy: "time" },
  averages: [{ id: "radial", kind: "radial" }],
  outputs: ["csv"],
};

function places(plan: Readonly<Record<string, unknown>> = PLAN) {
  const place = join(root, `case-${count++}`);
  const runs = join(place, "runs");
  mkdirSync(runs, { recursive: true });
  writeFileSync(join(place, "plan.json"), JSON.stringify(plan));
  return { runs, out: join(place, "out"), plan: join(place, "plan.json") };
}

function linesIn(out: string): readonly Line[] {
  const log = join(out, "watch.jsonl");
  if (!existsSync(log)) return [];
  return readFileSync(log, "utf8")
    .split("\n")
    .slice(0, -1)
    .map((line) => JSON.parse(line) as Line);
}

/** Starts `halation watch`; `end` is Ctrl-C. */
function start({ runs, out, plan }: ReturnType<typeof places>, ...more: readonly string[]) {
  const control = new AbortController();
  const ran = halation(["watch", runs, "--plan", plan, "--out", out, "--poll-ms", "20", ...more], {
    signal: control.signal,
  });
  return {
    reach: (length: number) =>
      vi.waitFor(() => expect(linesIn(out).length).toBeGreaterThanOrEqual(length), { timeout: 30_000, interval: 20 }),
    end(): Promise<Ran> {
      control.abort();
      return ran;
    },
  };
}

describe("halation watch", () => {
  it("judges and reduces each frame, tells a change of verdict, logs a frame that fails, and goes on", async () => {
    const at = places();
    const watched = start(at);
    writeFileSync(join(at.runs, "frame-1.npy"), frame(1));
    await watched.reach(1);
    writeFileSync(join(at.runs, "frame-2.npy"), "no frame in any format");
    await watched.reach(2);
    writeFileSync(join(at.runs, "frame-3.npy"), frame(3, { leaks: true }));
    await watched.reach(3);
    const ran = await watched.end();
    expect(ran.code).toBe(0);
    const lines = linesIn(at.out);
    expect(lines.map(({ file, verdict, previousVerdict }) => [file, verdict, previousVerdict])).toEqual([
      ["frame-1.npy", "covered", null],
      ["frame-2.npy", null, "covered"],
      ["frame-3.npy", "leaking", "covered"],
    ]);
    expect(lines[1]?.error?.message).toContain("frame-2.npy");
    // Counts of the first frame over the plan's 100 s.
    expect(lines[0]?.totalRate_1s).toBeCloseTo((lines[0]?.total_counts ?? 0) / 100, 9);
    expect(ran.out).toContain("the verdict was covered and is now leaking");
    expect(ran.out).toContain("frame-2.npy  failed:");
    for (const name of ["frame-1", "frame-3"])
      expect(readFileSync(join(at.out, name, "curves", "radial.csv"), "utf8")).toMatch(/^Q,I,dI/);
    expect(existsSync(join(at.out, "frame-2"))).toBe(false);
  });

  it("gives the lines of its log as JSON, one a line", async () => {
    const at = places();
    writeFileSync(join(at.runs, "a.npy"), frame(1));
    const watched = start(at, "--json");
    await watched.reach(1);
    const ran = await watched.end();
    expect(ran.out).toBe(readFileSync(join(at.out, "watch.jsonl"), "utf8"));
  });

  it("goes on after a stop where it was, and does a replaced frame again", async () => {
    const at = places();
    for (let i = 1; i <= 4; i++) writeFileSync(join(at.runs, `frame-${i}.npy`), frame(i));
    const first = start(at);
    await first.reach(2);
    expect((await first.end()).code).toBe(0);
    writeFileSync(join(at.runs, "frame-5.npy"), frame(5));
    const second = start(at);
    await second.reach(5);
    const before = readFileSync(join(at.out, "frame-1", "curves", "radial.csv"), "utf8");
    writeFileSync(join(at.runs, "frame-1.npy"), frame(99, { leaks: true }));
    await second.reach(6);
    await second.end();
    const lines = linesIn(at.out);
    expect(lines.map(({ sequence }) => sequence)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(lines.map(({ file }) => file)).toEqual([1, 2, 3, 4, 5, 1].map((i) => `frame-${i}.npy`));
    expect(lines.at(-1)).toMatchObject({ replaced: true, verdict: "leaking" });
    expect(readFileSync(join(at.out, "frame-1", "curves", "radial.csv"), "utf8")).not.toBe(before);
    expect(readdirSync(at.out).sort()).toEqual([
      ...[1, 2, 3, 4, 5].map((i) => `frame-${i}`),
      "watch-journal.jsonl",
      "watch.jsonl",
    ]);
  });

  it("leaves the plan's other runs alone, also where they lie among the frames", async () => {
    const at = places({ ...PLAN, runs: { sample: "any.npy", blockedBeam: "runs/blocked.npy" }, corrections: {} });
    writeFileSync(join(at.runs, "blocked.npy"), frame(8));
    writeFileSync(join(at.runs, "a.npy"), frame(1));
    const watched = start(at);
    await watched.reach(1);
    await watched.end();
    expect(linesIn(at.out).map(({ file }) => file)).toEqual(["a.npy"]);
  });

  it("holds the rates against the limits that are set", async () => {
    const at = places();
    writeFileSync(join(at.runs, "a.npy"), frame(1));
    const watched = start(at, "--max-pixel-rate", "1.5");
    await watched.reach(1);
    await watched.end();
    expect(linesIn(at.out)[0]?.verdict).toBe("marginal");
  });

  it("refuses what can't work before it watches", async () => {
    const at = places();
    const argv = ["watch", at.runs, "--plan", at.plan, "--out", at.out];
    for (const [wrong, named] of [
      [["watch", join(root, "absent"), "--plan", at.plan, "--out", at.out], "absent"],
      [["watch", at.runs, "--plan", join(root, "no.json"), "--out", at.out], "no.json"],
      [["watch", at.runs, "--plan", at.plan], "--out"],
      [[...argv, "--poll-ms", "0"], "--poll-ms"],
      [[...argv, "--max-total-rate", "many"], "--max-total-rate"],
    ] as const) {
      const ran = await halation(wrong);
      expect([ran.code, ran.error]).toEqual([2, expect.stringContaining(named)]);
    }
    const missing = places({ ...PLAN, runs: { sample: "any.npy", flood: "flood.npy" } });
    const ran = await halation(["watch", missing.runs, "--plan", missing.plan, "--out", missing.out]);
    expect([ran.code, ran.error]).toEqual([2, expect.stringContaining("flood.npy")]);
    expect(existsSync(missing.out)).toBe(false);
    unlinkSync(at.plan);
  });
});
