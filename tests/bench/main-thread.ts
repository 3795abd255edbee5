import type { Browser, Page } from "@playwright/test";

/** A longer task is felt: a key or a movement of the mouse waits for it. */
export const LONG_TASK_MS = 50;

interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  readonly ts: number;
  readonly dur?: number;
  /** Time that the thread itself was computing, where the system tells. */
  readonly tdur?: number;
  readonly args?: Readonly<Record<string, unknown>>;
}

export interface Task {
  readonly ms: number;
  /** The parts of it that took longest, "FunctionCall 40". */
  readonly parts: readonly string[];
}

export interface MainThread {
  readonly tasks: number;
  /** Longest first; all times are of computing, ms. */
  readonly long: readonly Task[];
  readonly longest: number;
  readonly busy: number;
}

const CATEGORIES = ["toplevel", "devtools.timeline", "disabled-by-default-devtools.timeline", "blink.user_timing"];

/** What the page's main thread did during `work`, from the browser's own trace. */
export async function traced(browser: Browser, page: Page, work: () => Promise<void>): Promise<MainThread> {
  await browser.startTracing(page, { categories: CATEGORIES });
  let trace: Buffer;
  try {
    await work();
  } finally {
    trace = await browser.stopTracing();
  }
  return mainThreadOf((JSON.parse(trace.toString()) as { readonly traceEvents: readonly TraceEvent[] }).traceEvents);
}

export function mainThreadOf(events: readonly TraceEvent[]): MainThread {
  const threads = new Set(
    events.flatMap(({ name, pid, tid, args }) =>
      name === "thread_name" && args?.["name"] === "CrRendererMain" ? [`${pid}:${tid}`] : [],
    ),
  );
  const ours = events.filter(({ ph, pid, tid }) => ph === "X" && threads.has(`${pid}:${tid}`));
  const tasks = ours.filter(({ name }) => name === "RunTask" || name === "ThreadControllerImpl::RunTask");
  const outer = tasks.filter(
    (task) => !tasks.some((other) => other !== task && other.tid === task.tid && holds(other, task)),
  );
  const long = outer.filter((task) => lengthOf(task) > LONG_TASK_MS).sort((a, b) => lengthOf(b) - lengthOf(a));
  return {
    tasks: outer.length,
    longest: outer.reduce((most, task) => Math.max(most, lengthOf(task)), 0),
    busy: outer.reduce((sum, task) => sum + lengthOf(task), 0),
    long: long.map((task) => ({ ms: lengthOf(task), parts: partsOf(task, ours) })),
  };
}

function partsOf(task: TraceEvent, events: readonly TraceEvent[]): readonly string[] {
  const sums = new Map<string, number>();
  for (const event of events)
    if (event !== task && event.tid === task.tid && !event.name.includes("RunTask") && holds(task, event)) {
      const name = event.name === "FunctionCall" ? `FunctionCall ${functionOf(event)}` : event.name;
      sums.set(name, (sums.get(name) ?? 0) + lengthOf(event));
    }
  return [...sums]
    .filter(([, ms]) => ms > 5)
    .sort(([, a], [, b]) => b - a)
    .slice(0, 8)
    .map(([name, ms]) => `${name} ${ms.toFixed(0)}`);
}

function functionOf({ args }: TraceEvent): string {
  const data = args?.["data"] as { readonly functionName?: string; readonly columnNumber?: number } | undefined;
  return `${data?.functionName ?? ""}@${data?.columnNumber ?? ""}`;
}

/** Of computing, ms: on a machine that others use, a task also lasts as long as they do. */
function lengthOf({ dur, tdur }: TraceEvent): number {
  return (tdur ?? dur ?? 0) / 1000;
}

function holds(outer: TraceEvent, inner: TraceEvent): boolean {
  return outer.ts <= inner.ts && inner.ts + (inner.dur ?? 0) <= outer.ts + (outer.dur ?? 0);
}
