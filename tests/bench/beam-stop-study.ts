// Simulated runs with known truth: is the stop's centre unbiased and its sigma honest, and which leaks are found? Prints a
// section of beam-stop-study.md. Run by hand: bundle it with rolldown (--platform node) and start it with node; arguments
// are the section, "shadow" or "leak", and the number of frames a setting.
import { cpus } from "node:os";
import { assessBeamStop } from "../../core/beam/assess-beam-stop.ts";
import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import type { CountFrame } from "../../core/beam/count-frame.ts";
import { type BeamScene, countedFrame, expectedFrame } from "../support/beam-scene.ts";

const SECTION = process.argv[2] === "leak" ? "leak" : "shadow";
const FRAMES = Number(process.argv[3] ?? 4);
const SIDE = 80;
const SIZES = [5, 9, 14];
const OFFSETS = [0, 1.3, 3.1];
const BEAM = { x: 39.3, y: 40.6 };
const halo = (dx: number, dy: number): number => 60 * Math.exp(-(dx * dx + dy * dy) / 162) + 6;

/** The halo with the direct beam in it: an even disc with an edge of half a pixel. The stop is in front of both. */
function withBeam(radius: number, counts: number): (dx: number, dy: number) => number {
  return (dx, dy) => halo(dx, dy) + counts / (1 + Math.exp((Math.hypot(dx, dy) - radius) / 0.25));
}
const started = Date.now();

interface Pulls {
  frames: number;
  silent: number;
  sumX: number;
  sumY: number;
  pullSquares: number;
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

function shadowPulls(total: number, leak: boolean): Pulls[] {
  return (["circle", "rectangle"] as const).map((shape) => {
    const pulls: Pulls = { frames: 0, silent: 0, sumX: 0, sumY: 0, pullSquares: 0, far: 0 };
    let seed = 1000;
    for (const size of SIZES) {
      for (const offset of OFFSETS) {
        const plain = scene(shape, size, offset);
        // The beam reaches half a pixel beyond the rim, with 30 times the halo's counts.
        const radius = size / 2 - offset + 0.5;
        if (leak && radius < 1) continue;
        const expected = expectedFrame(leak ? { ...plain, halo: withBeam(radius, 2000) } : plain);
        for (let k = 0; k < FRAMES; k++) {
          pulls.frames++;
          const { verdict, stop } = assess(countedFrame(expected, SIDE, seed++, total));
          if (stop === null || verdict === "cannot-tell") {
            pulls.silent++;
            continue;
          }
          const dx = stop.x_px - plain.stop!.x;
          const dy = stop.y_px - plain.stop!.y;
          pulls.sumX += dx;
          pulls.sumY += dy;
          const square = (dx / stop.x_px_sigma!) ** 2 + (dy / stop.y_px_sigma!) ** 2;
          pulls.pullSquares += square;
          if (square > 25) pulls.far++;
        }
      }
    }
    return pulls;
  });
}

function shadowTable(): string {
  const rows = [
    "| counts | shape | leak | frames | cannot tell | bias x, px | bias y, px | pull width | beyond 5 sigma |",
  ];
  rows.push("|---|---|---|---|---|---|---|---|---|");
  for (const leak of [false, true]) {
    for (const total of [1e3, 1e4, 1e5, 1e6, 1e7]) {
      const [circle, rectangle] = shadowPulls(total, leak) as [Pulls, Pulls];
      for (const [name, p] of [
        ["round", circle],
        ["square", rectangle],
      ] as const) {
        // biome-ignore format: a pair a line
        const n = p.frames - p.silent;
        const number = (v: number, digits: number): string => (n > 0 ? v.toFixed(digits) : "-");
        rows.push(
          `| 1e${Math.log10(total)} | ${name} | ${leak ? "yes" : "no"} | ${p.frames} | ${p.silent} | ${number(p.sumX / n, 4)} | ${number(p.sumY / n, 4)} | ${number(Math.sqrt(p.pullSquares / (2 * n)), 2)} | ${p.far} |`,
        );
      }
      process.stderr.write(`${rows.slice(-2).join("\n")}\n`);
    }
  }
  return rows.join("\n");
}

function leakTable(): string {
  const rows = ["| leak, counts | of a frame of | frames | covered | marginal | leaking | cannot tell |"];
  rows.push("|---|---|---|---|---|---|---|");
  const frames = FRAMES * 6;
  const sumOf = (frame: Float64Array): number => frame.reduce((a, b) => a + b, 0);
  let seed = 50_000;
  for (const total of [1e5, 1e6]) {
    for (const strength of [0, 1, 3, 10, 30, 100, 300, 1000]) {
      const count: Record<BeamStopVerdict, number> = { covered: 0, marginal: 0, leaking: 0, "cannot-tell": 0 };
      let leaked = 0;
      for (const shape of ["circle", "rectangle"] as const) {
        const plain = scene(shape, 14, 3);
        const expected = expectedFrame({ ...plain, halo: withBeam(5, strength) });
        // What reaches the detector of the beam: the frame with it less the frame without.
        leaked += (sumOf(expected) / sumOf(expectedFrame(plain)) - 1) * (total / 2);
        for (let k = 0; k < frames / 2; k++) {
          count[assess(countedFrame(expected, SIDE, seed++, total)).verdict]++;
        }
      }
      rows.push(
        `| ${Math.round(leaked)} | 1e${Math.log10(total)} | ${frames} | ${count.covered} | ${count.marginal} | ${count.leaking} | ${count["cannot-tell"]} |`,
      );
      process.stderr.write(`${rows.at(-1)}\n`);
    }
  }
  return rows.join("\n");
}

const table = SECTION === "leak" ? leakTable() : shadowTable();
const minutes = ((Date.now() - started) / 60_000).toFixed(1);
const machine = `${minutes} minutes on a shared machine, ${cpus().length} x ${cpus()[0]?.model ?? "unknown"}, Node ${process.versions.node}`;
const ABOUT = {
  shadow: `## Shadow fit

Stops of ${SIZES.join(", ")} px, offsets of ${OFFSETS.join(", ")} px, counts in the whole frame of ${SIDE} x ${SIDE} pixels. The leak, where there is
one, is a direct beam of 30 times the halo that reaches half a pixel beyond the rim. Pull width: root mean square of
(found - true) / sigma over both coordinates; 1 is honest. ${machine}.`,
  leak: `## Leaks

A direct beam of 5 px radius behind a stop of 14 px (round and square) that stands 3 px off it, so that a crescent of it passes;
the footprint is not told, so that the verdict rests on the rim alone. Half of the frames with each shape. Rows of 0 counts
give the false alarms. ${machine}.`,
};
console.log(`${ABOUT[SECTION]}\n\n${table}\n`);
