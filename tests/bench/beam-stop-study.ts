// Simulated runs with known truth: is the stop's centre unbiased and its sigma honest, and which leaks are found? Prints the
// sections of beam-stop-study.md. Run by hand: bundle it with rolldown (--platform node) and start it with node; the
// argument is the number of passes over all settings. Stopped by SIGTERM it ends with the pass that it is in.
import { cpus } from "node:os";
import { assessBeamStop } from "../../core/beam/assess-beam-stop.ts";
import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import type { CountFrame } from "../../core/beam/count-frame.ts";
import { type BeamScene, countedFrame, expectedFrame } from "../support/beam-scene.ts";

const PASSES = Number(process.argv[2] ?? 4);
const SIDE = 64;
const LOG_EVERY = 20_000;
const SIZES = [5, 9, 14];
const OFFSETS = [0, 1.3, 3.1];
const BEAM = { x: 31.3, y: 32.6 };
const halo = (dx: number, dy: number): number => 60 * Math.exp(-(dx * dx + dy * dy) / 162) + 6;

/** The halo with the direct beam in it: an even disc with an edge of half a pixel. The stop is in front of both. */
function withBeam(radius: number, counts: number): (dx: number, dy: number) => number {
  return (dx, dy) => halo(dx, dy) + counts / (1 + Math.exp((Math.hypot(dx, dy) - radius) / 0.25));
}
const started = Date.now();

/** The scene's grid must be finer than sigma at 1e7 counts, some 0.002 px. */
const FINENESS = { points: 24, shifts: 15 };

interface Pulls {
  frames: number;
  silent: number;
  /** Offsets of the stop from the beam, found less true. */
  sumX: number;
  sumY: number;
  squares: number;
  pullSquares: number;
  /** The stop's place alone. */
  stopPullSquares: number;
  far: number;
}

function scene(shape: "circle" | "rectangle", size: number, offset: number, more: Partial<BeamScene> = {}): BeamScene {
  // The offset points 30 degrees up, so that both coordinates move by different amounts.
  const x = BEAM.x + offset * 0.8660254;
  const y = BEAM.y + offset * 0.5;
  return {
    ...{ width: SIDE, height: SIDE, beam: BEAM, halo, level: 0.2 },
    stop: { shape, x, y, size, penumbra: 0.3, turn: shape === "rectangle" ? 0.08 : 0 },
    ...more,
  };
}

function assess(frame: CountFrame): BeamStopReport {
  return assessBeamStop({ frame: { ...frame, rowOrder: "bottom-up", transpose: false } });
}

const TOTALS = [1e3, 1e4, 1e5, 1e6, 1e7];
const SHAPES = ["circle", "rectangle"] as const;
const nothing = (): Pulls => ({
  ...{ frames: 0, silent: 0, sumX: 0, sumY: 0, squares: 0, pullSquares: 0, stopPullSquares: 0, far: 0 },
});
/** By leak, counts and shape, in the order of the table. */
const shadowRows = [false, true].flatMap((leak) =>
  TOTALS.flatMap((total) => SHAPES.map((shape) => ({ leak, total, shape, pulls: nothing() }))),
);
let seed = 1000;

function shadowPass(pass: number): void {
  for (const { leak, total, shape, pulls } of shadowRows) {
    // With a leak each frame takes several fits: a third as many.
    if (leak && pass % 3 !== 0) continue;
    for (const size of SIZES) {
      for (const offset of OFFSETS) {
        const plain = scene(shape, size, offset);
        // The beam reaches half a pixel beyond the rim, with 30 times the halo's counts.
        const radius = size / 2 - offset + 0.5;
        if (leak && radius < 1) continue;
        const expected = expectedOf(leak ? { ...plain, halo: withBeam(radius, 2000) } : plain);
        pulls.frames++;
        add(pulls, plain, assess(countedFrame(expected, SIDE, seed++, total)));
        log();
      }
    }
  }
}

function add(
  pulls: Pulls,
  { stop: truth, beam }: BeamScene,
  { verdict, stop, offset_px, offset_px_sigma }: BeamStopReport,
) {
  if (stop === null || offset_px === null || offset_px_sigma === null || verdict === "cannot-tell") {
    pulls.silent++;
    return;
  }
  const dx = offset_px[0] - (truth!.x - beam.x);
  const dy = offset_px[1] - (truth!.y - beam.y);
  pulls.sumX += dx;
  pulls.sumY += dy;
  pulls.squares += dx * dx + dy * dy;
  const square = (dx / offset_px_sigma[0]) ** 2 + (dy / offset_px_sigma[1]) ** 2;
  pulls.pullSquares += square;
  pulls.stopPullSquares +=
    ((stop.x_px - truth!.x) / stop.x_px_sigma!) ** 2 + ((stop.y_px - truth!.y) / stop.y_px_sigma!) ** 2;
  if (square > 25) pulls.far++;
}

/** Expected counts; leaks of several strengths ask for the same scene again and again. */
const made = new Map<string, Float64Array>();

function expectedOf(of: BeamScene): Float64Array {
  const key = JSON.stringify([of.stop, of.halo(0, 0), of.halo(4, 0), of.halo(6, 0)]);
  const known = made.get(key) ?? expectedFrame(of, FINENESS);
  made.set(key, known);
  return known;
}

function shadowTable(): string {
  const rows = [
    "| counts | shape | leak | frames | cannot tell | bias x, px | bias y, px | its sigma | pulls, offset | pulls, stop | beyond 5 sigma |",
    "|---|---|---|---|---|---|---|---|---|---|---|",
  ];
  for (const { leak, total, shape, pulls: p } of shadowRows) {
    const n = p.frames - p.silent;
    const number = (value: number, digits: number): string => (n > 0 ? value.toFixed(digits) : "-");
    const bias = `${number(p.sumX / n, 4)} | ${number(p.sumY / n, 4)} | ${number(Math.sqrt(p.squares / 2) / n, 4)}`;
    const widths = [p.pullSquares, p.stopPullSquares].map((sum) => number(Math.sqrt(sum / (2 * n)), 2)).join(" | ");
    const what = `1e${Math.log10(total)} | ${shape === "circle" ? "round" : "square"} | ${leak ? "yes" : "no"}`;
    rows.push(`| ${what} | ${p.frames} | ${p.silent} | ${bias} | ${widths} | ${p.far} |`);
  }
  return rows.join("\n");
}

const leakRows = [1e5, 1e6].flatMap((total) =>
  [0, 3, 10, 30, 100, 300, 1000].map((strength) => ({
    ...{ total, strength, frames: 0, counts: 0, best: 0 },
    verdicts: { covered: 0, marginal: 0, leaking: 0, "cannot-tell": 0 } as Record<BeamStopVerdict, number>,
  })),
);

function leakPass(): void {
  for (const row of leakRows) {
    row.counts = 0;
    let squares = 0;
    for (const shape of SHAPES) {
      const plain = scene(shape, 14, 3);
      const without = expectedOf(plain);
      const expected = row.strength === 0 ? without : expectedOf({ ...plain, halo: withBeam(5, row.strength) });
      const scale = row.total / sumOf(without);
      for (let p = 0; p < expected.length; p++) {
        const extra = scale * (expected[p]! - without[p]!);
        row.counts += extra / 2;
        squares += (extra * extra) / (scale * without[p]!) / 2;
      }
      // False alarms are rare: more frames to see them.
      for (let k = 0; k < (row.strength === 0 ? 4 : 1); k++) {
        row.frames++;
        row.verdicts[assess(countedFrame(expected, SIDE, seed++, scale * sumOf(expected))).verdict]++;
        log();
      }
    }
    row.best = Math.sqrt(squares);
  }
}

function leakTable(): string {
  const rows = [
    "| frame, counts | leak, counts | best possible, sigma | frames | covered | marginal | leaking | cannot tell |",
    "|---|---|---|---|---|---|---|---|",
  ];
  for (const { total, counts, best, frames, verdicts: v } of leakRows)
    rows.push(
      `| 1e${Math.log10(total)} | ${Math.round(counts)} | ${best.toFixed(1)} | ${frames} | ${v.covered} | ${v.marginal} | ${v.leaking} | ${v["cannot-tell"]} |`,
    );
  return rows.join("\n");
}

function sumOf(frame: Float64Array): number {
  return frame.reduce((a, b) => a + b, 0);
}

let logged = Date.now();

/** The figures so far, once in a while: a run that is killed leaves them. */
function log(): void {
  if (Date.now() - logged < LOG_EVERY) return;
  logged = Date.now();
  process.stderr.write(`${framesSoFar()} frames\n${shadowTable()}\n${leakTable()}\n`);
}

function framesSoFar(): number {
  return [...shadowRows.map(({ pulls }) => pulls), ...leakRows].reduce((sum, row) => sum + row.frames, 0);
}

let isStopped = false;
process.once("SIGTERM", () => {
  isStopped = true;
});
for (let pass = 0; pass < PASSES && !isStopped; pass++) {
  shadowPass(pass);
  leakPass();
  process.stderr.write(`pass ${pass + 1} of ${PASSES}\n${shadowTable()}\n${leakTable()}\n`);
  // A turn for the signal to arrive.
  await new Promise((resolve) => setTimeout(resolve, 1));
}
const minutes = ((Date.now() - started) / 60_000).toFixed(0);
console.log(`${framesSoFar()} frames in ${minutes} minutes on a shared machine, ${cpus().length} x ${cpus()[0]?.model ?? "unknown"}, Node ${process.versions.node}.

## Shadow fit

Stops of ${SIZES.join(", ")} px, offsets of ${OFFSETS.join(", ")} px, counts in the whole frame of ${SIDE} x ${SIDE} pixels. The leak, where there is
one, is a direct beam of 30 times the halo that reaches half a pixel beyond the rim. Bias: of the offset from the beam, with
the sigma that the scatter of the frames gives it. Pulls: root mean square of (found - true) / sigma over both coordinates, of
the offset and of the stop's place alone; 1 is honest.

${shadowTable()}

## Leaks

A direct beam of 5 px radius behind a stop of 14 px (round and square) that stands 3 px off it, so that a crescent of it passes;
the footprint is not told, so that the verdict rests on the rim alone. Half of the frames with each shape. Rows of 0 counts
give the false alarms. Best possible: the sigma that a test would reach on average which knew halo, stop and the leak's own
shape exactly, from the counts alone.

${leakTable()}
`);
