/** Steps of the loop below take some 0.1 us; a longer gap between two is time that the system gave to others, ms. */
const GAP_MS = 1;
/** How long a measurement lasts, ms. */
const MEASURE_MS = 200;
/** A worker that has not even started by then gets next to nothing, ms. */
const PATIENCE_MS = 10_000;

/** Part of the time that a loop which never rests gets of a processor, 0 to 1. */
export function loopShare(measure_ms: number = MEASURE_MS, clock: () => number = () => performance.now()): number {
  const began = clock();
  let before = began;
  let lost = 0;
  for (;;) {
    const now = clock();
    if (now - before > GAP_MS) lost += now - before;
    before = now;
    if (now - began >= measure_ms) return 1 - lost / (now - began);
  }
}

/** Measures the share in a worker of its own, which stands in line for a processor like every other worker. */
export function processorShare(): Promise<number> {
  const worker = new Worker(new URL("./share-worker.ts", import.meta.url), { type: "module", name: "halation-share" });
  return new Promise<number>((resolve) => {
    const timer = setTimeout(() => resolve(0), PATIENCE_MS);
    worker.onmessage = ({ data }: MessageEvent<number>) => {
      clearTimeout(timer);
      resolve(data);
    };
    worker.onerror = () => {
      clearTimeout(timer);
      // No worker to measure with: what went by counts in full.
      resolve(1);
    };
  }).finally(() => worker.terminate());
}
