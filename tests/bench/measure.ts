import { prepare, type Task } from "./tasks.ts";

const WARM_UP_MS = 80;
const MEASURE_MS = 250;
const MIN_REPETITIONS = 6;

/** Fastest repetition, ms; the results are checked before any time counts. */
export function measure(task: Task): number {
  const { step, check } = prepare(task);
  check();
  repeat(step, WARM_UP_MS);
  return repeat(step, MEASURE_MS);
}

function repeat(step: (repetition: number) => void, milliseconds: number): number {
  let fastest = Number.POSITIVE_INFINITY;
  const begin = performance.now();
  for (let i = 0; i < MIN_REPETITIONS || performance.now() - begin < milliseconds; i++) {
    const start = performance.now();
    step(i);
    fastest = Math.min(fastest, performance.now() - start);
  }
  return fastest;
}
