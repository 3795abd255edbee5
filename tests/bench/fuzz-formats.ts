// Changes valid files at random and opens what comes of them, in a worker that is watched: nothing may throw, take
// longer than 5 s, or take more memory than the stated bound.
//
//   node electron/launch/build.mjs fuzz && node dist/fuzz/fuzz-formats.js [runs] [seed] [first]
import { fileURLToPath, pathToFileURL } from "node:url";
import { isMainThread, parentPort, Worker, workerData } from "node:worker_threads";
import { damagedSample, openDamaged, validSamples } from "../support/damaged-samples.ts";

/** Longest time for one file. */
const TIME_LIMIT_MS = 5000;
/** Longest time until a worker is given up, however busy the machine. */
const HANG_MS = 60_000;
interface Report {
  readonly kind: "start" | "done" | "bug";
  readonly run: number;
  readonly sample: string;
  readonly outcome?: "frame" | "curve" | "fault" | "thrown";
  readonly ms?: number;
  readonly rss?: number;
  readonly message?: string;
}

if (isMainThread) await watch();
else await work();

async function watch(): Promise<void> {
  const [runs = 20_000, seed = 1, from = 0] = process.argv.slice(2).map(Number);
  const counts = new Map<string, number>();
  const bugs: Report[] = [];
  const slowest = { ms: 0, sample: "", run: 0 };
  let first = from;
  let peak = 0;
  let baseline = 0;
  const began = performance.now();
  while (first < runs) first = await runWorker(first);
  const rows = [...counts].sort(([a], [b]) => a.localeCompare(b));
  const seconds = (performance.now() - began) / 1000;
  console.log(
    JSON.stringify(
      {
        runs,
        seed,
        seconds,
        baselineMiB: baseline,
        peakMiB: peak,
        slowest,
        bugs: bugs.length,
        counts: Object.fromEntries(rows),
      },
      null,
      1,
    ),
  );
  for (const bug of bugs.slice(0, 20)) console.error(`run ${bug.run} of ${bug.sample}: ${bug.message}`);
  process.exitCode = bugs.length > 0 ? 1 : 0;

  /** Runs from `start` until all are done or one hangs or kills its worker; returns where to go on. */
  function runWorker(start: number): Promise<number> {
    return new Promise((done) => {
      const worker = new Worker(fileURLToPath(import.meta.url), { workerData: { start, runs, seed } });
      let at: Report = { kind: "start", run: start, sample: "start" };
      let since = performance.now();
      const timer = setInterval(() => {
        if (at.sample === "start" || performance.now() - since < HANG_MS) return;
        bugs.push({ ...at, message: `hung for ${HANG_MS} ms` });
        finish(at.run + 1);
      }, 250);
      const finish = (next: number): void => {
        clearInterval(timer);
        worker.removeAllListeners();
        void worker.terminate().then(() => done(next));
      };
      worker.on("error", (error) => {
        bugs.push({ ...at, message: `the worker died: ${error.message}` });
        finish(at.run + 1);
      });
      worker.on("exit", () => finish(at.run + 1));
      worker.on("message", (report: Report) => {
        since = performance.now();
        at = report;
        if (report.kind === "start") return;
        const key = `${report.sample} ${report.outcome}`;
        counts.set(key, (counts.get(key) ?? 0) + 1);
        if (report.rss !== undefined) {
          baseline = baseline === 0 ? report.rss : baseline;
          peak = Math.max(peak, report.rss);
        }
        if (report.ms !== undefined && report.ms > slowest.ms)
          Object.assign(slowest, { ms: report.ms, sample: report.sample, run: report.run });
        if (report.kind === "bug") bugs.push(report);
        if (report.run + 1 >= runs) finish(runs);
      });
    });
  }
}

async function work(): Promise<void> {
  const { start, runs, seed } = workerData as { start: number; runs: number; seed: number };
  const samples = validSamples(pathToFileURL(`${process.cwd()}/tests/support/fixtures/`));
  const port = parentPort!;
  for (let run = start; run < runs; run++) {
    const file = damagedSample(samples, seed, run);
    port.postMessage({ kind: "start", run, sample: file.name } satisfies Report);
    const began = performance.now();
    const cpu = process.cpuUsage();
    let report: Report = { kind: "done", run, sample: file.name };
    try {
      report = { ...report, outcome: await openDamaged(file, run) };
    } catch (error) {
      report = {
        ...report,
        kind: "bug",
        outcome: "thrown",
        message: error instanceof Error ? (error.stack ?? error.message) : String(error),
      };
    }
    const { user, system } = process.cpuUsage(cpu);
    // Time that other programs took does not count; nor does what threads compute beside each other.
    const ms = Math.min(performance.now() - began, (user + system) / 1000);
    if (ms > TIME_LIMIT_MS) report = { ...report, kind: "bug", message: `took ${ms} ms` };
    port.postMessage({ ...report, ms, rss: process.memoryUsage().rss / 2 ** 20 } satisfies Report);
  }
}
