import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { success } from "../../../../core/model/result.ts";
import type { Plan } from "../../../../core/plan/plan.ts";
import { createBeamStopStore } from "../../../../renderer/beam-stop/beam-stop-store.ts";
import { ShownTrees } from "../../../../renderer/beam-stop/watched-tree.ts";
import { FlipKeeper } from "../../../../renderer/flip/flip-keeper.ts";
import { flipRow, placeOf, referenceAt, runsAt } from "../../../../renderer/flip/flip-places.ts";
import { FrameReader } from "../../../../renderer/flip/frame-reader.ts";
import { FrameStore, type ReadFrame } from "../../../../renderer/flip/frame-store.ts";
import { createDocumentStore } from "../../../../renderer/state/document-store.ts";
import type { PlanFile } from "../../../../renderer/state/plan-file.ts";
import { createResultsStore, type RunState } from "../../../../renderer/state/results-store.ts";
import type { WorkerClient } from "../../../../renderer/worker/worker-client.ts";

function frame(value: number, pixels = 4): ReadFrame {
  const counts = new Float32Array(pixels).fill(value);
  return { width: pixels, height: 1, orientation: { rowOrder: "bottom-up", transpose: false }, counts };
}

function stackOf(frames: number): RunState {
  const bank = { name: "bank", path: "/", width: 4, height: 1, frames, axis: { kind: "none" as const }, metadata: {} };
  const words = { name: "stack", formatTitle: "", metadata: {}, alternatives: {}, notes: [], warnings: [] };
  return { status: "ready", run: { ...words, banks: [bank] } };
}

const file = (path: string): PlanFile => ({
  ...{ path, name: path, label: path, size: 1 },
  origin: { kind: "dropped", key: path },
});
const planOf = (sample: Plan["runs"]["sample"]): Plan => ({ planVersion: 1, runs: { sample } });

describe("the places to leaf through", () => {
  const whole = { sampleIndex: 0, stackFrame: undefined };

  it("are the whole stack and each of its frames", () => {
    const plan = planOf("stack.h5");
    const row = flipRow("frames", plan, whole, { "stack.h5": stackOf(200) });
    expect(row).toEqual({ axis: "frames", count: 200, at: -1 });
    if (row === undefined) throw new Error("no row");
    expect(placeOf(row, 0, whole)).toEqual({ sampleIndex: 0, stackFrame: 0 });
    expect(placeOf(row, 500, whole)).toEqual({ sampleIndex: 0, stackFrame: 199 });
    expect(placeOf(row, -7, { sampleIndex: 0, stackFrame: 3 })).toEqual(whole);
    expect(flipRow("runs", plan, whole, {})).toBeUndefined();
  });

  it("begin at the frame that the plan chooses, and keep how the run is read", () => {
    const plan = planOf({ file: "stack.h5", frame: 11, transpose: true });
    expect(flipRow("frames", plan, whole, { "stack.h5": stackOf(20) })?.at).toBe(11);
    const wanted = { file: "stack.h5", frame: 12, transpose: true };
    expect(referenceAt(plan, { sampleIndex: 0, stackFrame: 12 })).toEqual(wanted);
    expect(runsAt(plan.runs, 0, 12).sample).toEqual(wanted);
  });

  it("are the samples of a plan, each begun as the plan reads it", () => {
    const plan = planOf(["a.h5", "b.h5", "c.h5"]);
    const at = { sampleIndex: 1, stackFrame: 4 };
    const row = flipRow("runs", plan, at, {});
    expect(row).toEqual({ axis: "runs", count: 3, at: 1 });
    if (row !== undefined) expect(placeOf(row, 2, at)).toEqual({ sampleIndex: 2, stackFrame: undefined });
    expect(runsAt(plan.runs, 1, 4).sample).toEqual(["a.h5", { file: "b.h5", frame: 4 }, "c.h5"]);
  });
});

describe("FrameStore", () => {
  it("never holds more than its bytes, and forgets what was seen longest ago", () => {
    const store = new FrameStore(3 * 16);
    for (let i = 0; i < 3; i++) store.put(`${i}`, frame(i));
    store.get("0");
    for (let i = 3; i < 100; i++) {
      store.put(`${i}`, frame(i));
      expect(store.bytes).toBeLessThanOrEqual(48);
      if (i === 3) expect([store.has("0"), store.has("1")]).toEqual([true, false]);
    }
    store.put("large", frame(7, 100));
    expect([store.has("large"), store.bytes]).toEqual([true, 400]);
    store.clear();
    expect(store.bytes).toBe(0);
  });
});

describe("FlipKeeper", () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());

  function opened(frames: number) {
    const document = createDocumentStore();
    const results = createResultsStore();
    const asked: unknown[] = [];
    const ask = ((_kind: string, { reference }: { reference: { frame?: number } }) => {
      asked.push(reference.frame);
      return Promise.resolve(success(frame(reference.frame ?? -1)));
    }) as unknown as WorkerClient["ask"];
    document.getState().open({ plan: planOf("stack.h5"), files: { "stack.h5": file("stack.h5") } });
    results.getState().setRun("stack.h5", stackOf(frames));
    const keeper = new FlipKeeper({
      ...{ document, results, beamStop: createBeamStopStore() },
      frames: new FrameReader({ client: { ask }, delivery: { deliver: () => Promise.resolve(success(undefined)) } }),
      loop: { idle: () => Promise.resolve() },
    });
    keeper.start();
    return { document, results, keeper, asked };
  }

  it("shows the counts at once, reads ahead, and gives the place to the view where one stays", async () => {
    const { document, keeper, asked } = opened(9);
    keeper.step(1);
    await vi.advanceTimersByTimeAsync(10);
    expect(keeper.store.getState().frame?.counts[0]).toBe(0);
    // The next three and the one before, which is the whole stack.
    expect(asked).toEqual([0, 1, 2, 3, undefined]);
    expect(document.getState().view.stackFrame).toBeUndefined();
    keeper.step(1);
    expect(keeper.store.getState().frame?.counts[0]).toBe(1);
    await vi.advanceTimersByTimeAsync(1000);
    expect(document.getState().view.stackFrame).toBe(1);
    expect(keeper.store.getState().place).toBeUndefined();
    expect(document.getState().history?.past).toEqual([]);
  });

  it("runs the plan once for many steps, and stops at the end", async () => {
    const { document, keeper } = opened(9);
    let shown = 0;
    document.subscribe(() => shown++);
    for (let i = 0; i < 30; i++) {
      keeper.step(1);
      await vi.advanceTimersByTimeAsync(20);
    }
    await vi.advanceTimersByTimeAsync(1000);
    expect([document.getState().view.stackFrame, shown]).toEqual([8, 1]);
  });

  it("keeps the counts on show where the plan can't run on them", async () => {
    const { results, keeper } = opened(9);
    results.getState().set({ fault: { code: "missing", message: "no flood" } });
    keeper.step(3);
    await vi.advanceTimersByTimeAsync(1000);
    expect(keeper.store.getState().frame?.counts[0]).toBe(2);
  });

  it("begins anew with another document", async () => {
    const { document, keeper } = opened(9);
    keeper.step(4);
    await vi.advanceTimersByTimeAsync(10);
    document.getState().open({ plan: planOf("other.h5"), files: { "other.h5": file("other.h5") } });
    expect([keeper.store.getState().place, keeper.rows()]).toEqual([undefined, []]);
    await vi.advanceTimersByTimeAsync(1000);
    expect(document.getState().view.stackFrame).toBeUndefined();
  });
});

it("gives the same runs for the same frame, whatever else of the plan changes", () => {
  const trees = new ShownTrees();
  const present = { plan: planOf("stack.h5"), files: {} };
  const place = { sampleIndex: 0, stackFrame: 5 };
  const first = trees.of(present, place, undefined).tree;
  expect(first.plan.runs.sample).toEqual({ file: "stack.h5", frame: 5 });
  expect(trees.of(present, place, undefined).tree).toBe(first);
  const moved = { ...present, plan: { ...present.plan, title: "moved" } };
  expect(trees.of(moved, place, undefined).tree.plan.runs).toBe(first.plan.runs);
  expect(trees.of(moved, { ...place, stackFrame: 6 }, undefined).tree.plan.runs).not.toBe(first.plan.runs);
});
