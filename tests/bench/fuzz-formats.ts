// Changes valid files at random and opens what comes of them, in a worker that is watched: nothing may throw, take
// longer than 5 s, or take more memory than the stated bound.
//
//   node electron/launch/build.mjs fuzz && node dist/fuzz/fuzz-formats.js [runs] [seed] [first]
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { isMainThread, parentPort, Worker, workerData } from "node:worker_threads";
import mt19937 from "@stdlib/random-base-mt19937";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import { openRun } from "../../core/formats/open-run.ts";
import { openHdf5Guarded as openHdf5 } from "../../electron/services/hdf5-guard.ts";

const SAMPLES = [
  "kinds.h5",
  "nexus-standard.h5",
  "nexus-variants.h5",
  "plain.h5",
  "u2.npy",
  "stack-fortran.npy",
  "strips.tif",
  "tiles.tif",
  "pages.tif",
  "big.tif",
  "zlib.tif",
  "pillow-lzw-predictor.tif",
  "pillow-f32-predictor3.tif",
  "pillow-packbits.tif",
  "jumps.cbf",
  "base64.cbf",
  "u2.npy.gz",
  "members.npy.gz",
  "stored.npz",
  "deflated.npz",
  "zip64.zip",
  "matrix.txt",
  "exponents.csv",
];
const CURVE = `<?xml version="1.0"?><SASroot version="1.1" xmlns="urn:cansas1d:1.1"><SASentry><Title>t</Title><Run/><SASdata>
${Array.from({ length: 20 }, (_, i) => `<Idata><Q unit="1/A">${i / 100 + 0.01}</Q><I unit="1/cm">${20 - i}</I><Idev unit="1/cm">0.1</Idev></Idata>`).join("\n")}
</SASdata><SASsample><ID>s</ID></SASsample><SASinstrument><name>i</name></SASinstrument><SASnote/></SASentry></SASroot>`;

/** Datasets of the file that has one for each storage and filter. */
const STORES = [
  "contiguous",
  "compact",
  "chunked",
  "gzip",
  "shuffle",
  "fletcher",
  "lzf",
  "scaleoffset",
  "lz4",
  "bitshuffle",
];

/** Longest time for one file. */
const TIME_LIMIT_MS = 5000;
/** Longest time until a worker is given up, however busy the machine. */
const HANG_MS = 60_000;
/** Numbers that break size arithmetic. */
const EDGES = [0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0x8000, 0xffff, 0x7fffffff, 0x80000000, 0xffffffff];

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
  const folder = resolve(process.cwd(), "tests/support/fixtures");
  const files = SAMPLES.map((name) => ({ name, bytes: new Uint8Array(readFileSync(resolve(folder, name))) }));
  files.push({ name: "curve.xml", bytes: new TextEncoder().encode(CURVE) });
  const port = parentPort!;
  for (let run = start; run < runs; run++) {
    const draw = mt19937.factory({ seed: (seed * 1_000_003 + run) % 2 ** 32 || 1 });
    const random = (): number => draw() / 2 ** 32;
    const file = files[run % files.length]!;
    const other = files[Math.floor(random() * files.length)]!;
    const bytes = change(file.bytes, other.bytes, random);
    port.postMessage({ kind: "start", run, sample: file.name } satisfies Report);
    const began = performance.now();
    const cpu = process.cpuUsage();
    let report: Report = { kind: "done", run, sample: file.name };
    try {
      report = { ...report, outcome: await open(file.name, bytes, run) };
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

function change(original: Uint8Array, other: Uint8Array, random: () => number): Uint8Array<ArrayBuffer> {
  let bytes = original.slice();
  const below = (n: number): number => Math.floor(random() * n);
  // Half of all changes go to the first kilobyte, where files describe themselves.
  const place = (): number => (random() < 0.5 ? below(Math.min(1024, bytes.length)) : below(bytes.length));
  for (let i = 0, n = 1 + below(4); i < n && bytes.length > 16; i++) {
    const at = place();
    const kind = below(7);
    if (kind === 0) bytes[at]! ^= 1 << below(8);
    else if (kind === 1) bytes[at] = below(256);
    else if (kind === 2 && at + 4 <= bytes.length)
      new DataView(bytes.buffer).setUint32(at, EDGES[below(EDGES.length)]!, random() < 0.5);
    else if (kind === 3) bytes = bytes.slice(0, at + 1);
    else if (kind === 4) bytes.fill(below(2) * 255, at, at + below(64));
    else if (kind === 5) bytes.copyWithin(at, place(), Math.min(bytes.length, place() + 64));
    else bytes.set(other.subarray(0, Math.min(below(256), other.length, bytes.length - at)), at);
  }
  return bytes;
}

async function open(name: string, bytes: Uint8Array<ArrayBuffer>, run: number): Promise<"frame" | "curve" | "fault"> {
  const signal = new AbortController().signal;
  const source = bytesSource(name, bytes);
  if (/\.(xml|csv|txt)$/.test(name)) {
    const curves = await openCurves(source, { signal, openHdf5 });
    if (curves.ok) return "curve";
  }
  const choice = name === "kinds.h5" ? { dataset: `/stores/${STORES[Math.floor(run / 7) % STORES.length]}` } : {};
  const opened = await openRun(source, { choice, signal, openHdf5 });
  if (!opened.ok) return "fault";
  try {
    for (const bank of opened.value.banks) {
      const frame = await bank.readFrame(0, signal);
      if (!frame.ok) return "fault";
    }
    return "frame";
  } finally {
    opened.value.close();
  }
}
