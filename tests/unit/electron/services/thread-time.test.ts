import { expect, it } from "vitest";
import { threadNumber, threadTime } from "../../../../electron/services/thread-time.ts";

const number = threadNumber();
const isTold = threadTime(number) !== undefined;

/** Sums until the thread has computed for `seconds`, however long that takes on a busy machine. */
function compute(seconds: number): number {
  const until = threadTime(number)! + seconds;
  let sum = 0;
  while (threadTime(number)! < until) for (let i = 0; i < 10_000; i++) sum += i % 7;
  return sum;
}

it.skipIf(!isTold)(
  "counts what a thread computes, not what it waits [skipped: this system tells no thread's time]",
  () => {
    const start = threadTime(number)!;
    const cpu = process.cpuUsage();
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 300);
    expect(threadTime(number)! - start).toBeLessThan(0.2);
    const began = threadTime(number)!;
    compute(0.3);
    const own = threadTime(number)! - began;
    const { user, system } = process.cpuUsage(cpu);
    expect(own).toBeGreaterThanOrEqual(0.3);
    // The process had at least what one of its threads had; the system counts some of it in ticks of 10 ms.
    expect((user + system) / 1e6).toBeGreaterThan(own - 0.05);
  },
);

it("knows nothing of a thread that is not there", () => {
  expect(threadTime(0)).toBeUndefined();
  expect(threadTime(2 ** 30)).toBeUndefined();
});
