import { readFileSync } from "node:fs";

/** The number that Linux knows the calling thread by; 0 elsewhere. */
export function threadNumber(): number {
  const stat = readOrEmpty("/proc/thread-self/stat");
  return Number.parseInt(stat, 10) || 0;
}

/**
 * Seconds that a thread of this process has computed for since it started, without what it waited for a processor that
 * others had. Undefined where the system doesn't tell: Node 20 itself knows only of the process.
 *
 * @param number as `threadNumber` gave it inside the thread
 * @see Documentation/scheduler/sched-stats.rst of the Linux kernel: the first field of schedstat is nanoseconds on the processor
 */
export function threadTime(number: number): number | undefined {
  if (number === 0) return undefined;
  const [nanoseconds] = readOrEmpty(`/proc/self/task/${number}/schedstat`).split(" ");
  return nanoseconds === undefined || nanoseconds === "" ? undefined : Number(nanoseconds) / 1e9;
}

function readOrEmpty(path: string): string {
  try {
    return readFileSync(path, "utf8");
  } catch {
    // No such file: another system, or a kernel without these numbers.
    return "";
  }
}
