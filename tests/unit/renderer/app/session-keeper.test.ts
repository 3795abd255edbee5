import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { HostContract } from "../../../../core/host-contract.ts";
import { failure, success } from "../../../../core/model/result.ts";
import { SessionKeeper } from "../../../../renderer/app/session-keeper.ts";
import { createDocumentStore } from "../../../../renderer/state/document-store.ts";
import { createResultsStore } from "../../../../renderer/state/results-store.ts";

const FULL = failure("unreadable", "no space is left on the disk", { file: "session.json" });

/** A window that a keeper can be started in: timers, and listeners to call by hand. */
function windowDouble() {
  const listeners = new Map<string, (event: Event) => void>();
  const addEventListener = (name: string, listener: (event: Event) => void) => listeners.set(name, listener);
  vi.stubGlobal("window", { setTimeout, clearTimeout, addEventListener });
  return (name: string) => {
    const event = new Event(name, { cancelable: true });
    listeners.get(name)?.(event);
    return event;
  };
}

describe("a host that can't store the session", () => {
  let isFull = true;
  const saved: string[] = [];
  const host = {
    saveSession: async (_window: string, json: string) => {
      if (isFull) return FULL;
      saved.push(json);
      return success(undefined);
    },
  } as unknown as HostContract;

  beforeEach(() => {
    vi.useFakeTimers();
    isFull = true;
    saved.length = 0;
  });
  afterEach(() => {
    vi.useRealTimers();
    vi.unstubAllGlobals();
  });

  it("is said once, tried again, and everything done meanwhile is kept in the end", async () => {
    const fire = windowDouble();
    const document = createDocumentStore();
    const results = createResultsStore();
    new SessionKeeper({ host, window: "window-1", document, results }).start();
    document.getState().open({ plan: { planVersion: 1, runs: { sample: "a.h5" } }, files: {} });
    await vi.advanceTimersByTimeAsync(1000);
    document.getState().act({ type: "set-edge", edge_px: 7 });
    await vi.advanceTimersByTimeAsync(60_000);
    const told = () => results.getState().notices.map(({ tone, text }) => [tone, text]);
    expect(told()).toEqual([["fault", expect.stringContaining("no space is left on the disk")]]);
    expect(document.getState().history?.present.plan.mask?.edge_px).toBe(7);
    expect(fire("beforeunload").defaultPrevented).toBe(true);

    isFull = false;
    await vi.advanceTimersByTimeAsync(60_000);
    expect(saved).toEqual([expect.stringContaining('"edge_px":7')]);
    expect(told().at(-1)).toEqual(["note", expect.stringContaining("kept again")]);
    expect(fire("beforeunload").defaultPrevented).toBe(false);
  });
});

describe("a window beside another", () => {
  it("says once that it starts afresh, and that nothing is lost", async () => {
    const results = createResultsStore();
    const host = {
      loadSession: async () => success({ json: undefined, isBesideAnother: true }),
    } as unknown as HostContract;
    const keeper = new SessionKeeper({ host, window: "window-2", document: createDocumentStore(), results });
    expect(await keeper.load()).toBeUndefined();
    expect(results.getState().notices.map(({ tone, text }) => [tone, text])).toEqual([
      ["note", expect.stringContaining("open in another window")],
    ]);
  });
});
