import { describe, expect, it, vi } from "vitest";
import type { BeamStopReport } from "../../../../core/beam/beam-stop-report.ts";
import type { FileToken, HostEvents, WindowHost } from "../../../../core/host-contract.ts";
import { failure, success } from "../../../../core/model/result.ts";
import type { FileDelivery } from "../../../../renderer/app/file-delivery.ts";
import { createBeamStopStore } from "../../../../renderer/beam-stop/beam-stop-store.ts";
import type { StopAssessor } from "../../../../renderer/beam-stop/stop-assessor.ts";
import { WatchKeeper } from "../../../../renderer/beam-stop/watch-keeper.ts";
import { createDocumentStore } from "../../../../renderer/state/document-store.ts";
import { createResultsStore } from "../../../../renderer/state/results-store.ts";
import { stopReport } from "../../../support/stop-report.ts";

type Listener = (detail: never) => void;

/** A keeper over doubles of the host and the worker; the stores are real. */
function setUp(verdicts: readonly (BeamStopReport["verdict"] | "fault")[]) {
  const listeners = new Map<string, Listener>();
  const host = {
    on: (event: string, listener: Listener) => listeners.set(event, listener),
    watchFolder: vi.fn(async () => success({ id: "w1", label: "tonight", earlier: [] as string[] })),
    lastWatch: vi.fn(async () => success({ label: "tonight", frames: 2 })),
    resumeWatch: vi.fn(async () => success({ id: "w1", label: "tonight", earlier: [] as string[] })),
    noteFrame: vi.fn(async (_watch: string, _name: string, _note: string) => success(undefined)),
    stopWatching: vi.fn(async () => success(undefined)),
  };
  const document = createDocumentStore();
  document.getState().open({ plan: { planVersion: 1, runs: { sample: "own.h5" } }, files: {} });
  const store = createBeamStopStore();
  const results = createResultsStore();
  const dropped: string[] = [];
  const shown: (string | undefined)[] = [];
  let asked = 0;
  const assess: StopAssessor["assess"] = async () => {
    const verdict = verdicts[asked++] ?? "covered";
    return verdict === "fault" ? failure("unreadable", "this frame is torn") : success(stopReport({ verdict }));
  };
  const keeper = new WatchKeeper({
    ...{ document, store, results },
    host: host as unknown as WindowHost,
    delivery: { drop: async (path: string) => void dropped.push(path) } as unknown as FileDelivery,
    assessor: { assess } as unknown as StopAssessor,
    openFirst: async () => undefined,
    shown: async () => void shown.push(store.getState().watched?.name),
  });
  const arrive = (name: string, watch = "w1", isReplacement = false) => {
    const token = `token-of-${name}` as FileToken;
    const detail: HostEvents["frameArrived"] = { watch, isReplacement, file: { token, name, label: name, size: 1 } };
    (listeners.get("frameArrived") as ((detail: HostEvents["frameArrived"]) => void) | undefined)?.(detail);
  };
  const settle = (frames: number) => vi.waitFor(() => expect(store.getState().trend).toHaveLength(frames));
  return { keeper, arrive, settle, store, results, document, host, dropped, shown };
}

describe("WatchKeeper", () => {
  it("takes frames in order into the trend, shows the newest, and leaves document and undo alone", async () => {
    const { keeper, arrive, settle, store, document, shown } = setUp(["covered", "covered", "marginal"]);
    const before = document.getState().history;
    await keeper.start("tonight");
    arrive("a.h5");
    await settle(1);
    await vi.waitFor(() => expect(shown).toEqual(["a.h5"]));
    for (const name of ["b.h5", "c.h5"]) arrive(name);
    await settle(3);
    await vi.waitFor(() => expect(store.getState().watched?.name).toBe("c.h5"));
    expect(store.getState().trend.map(({ name, verdict }) => [name, verdict])).toEqual([
      ["a.h5", "covered"],
      ["b.h5", "covered"],
      ["c.h5", "marginal"],
    ]);
    expect(store.getState().change).toMatchObject({ frame: "c.h5", from: "covered", to: "marginal" });
    expect(document.getState().history).toBe(before);
  });

  it("lets go of frames that are no longer shown, also of those that a burst passed over", async () => {
    const { keeper, arrive, settle, dropped } = setUp([]);
    await keeper.start("tonight");
    for (let i = 0; i < 50; i++) arrive(`${i}.h5`);
    await settle(50);
    await vi.waitFor(() => expect(new Set(dropped).size).toBe(49));
    expect(dropped).not.toContain("49.h5");
  });

  it("goes on after a frame that can't be judged, and compares with the one before it", async () => {
    const { keeper, arrive, settle, store, results } = setUp(["covered", "fault", "leaking"]);
    await keeper.start("tonight");
    for (const name of ["a.h5", "b.h5", "c.h5"]) arrive(name);
    await settle(3);
    expect(store.getState().trend.map(({ verdict }) => verdict)).toEqual(["covered", undefined, "leaking"]);
    expect(store.getState().change).toMatchObject({ from: "covered", to: "leaking" });
    expect(results.getState().notices.at(-1)?.text).toContain("this frame is torn");
  });

  it("hears its own watch alone, and none after it was stopped", async () => {
    const { keeper, arrive, settle, store, host } = setUp([]);
    await keeper.start("tonight");
    arrive("other.h5", "another window's");
    arrive("a.h5");
    await settle(1);
    await keeper.stop();
    expect(host.stopWatching).toHaveBeenCalledWith("w1");
    arrive("late.h5");
    await Promise.resolve();
    expect(store.getState().trend.map(({ name }) => name)).toEqual(["a.h5"]);
    expect(store.getState().watched?.name).toBe("a.h5");
    keeper.backToPlan();
    expect(store.getState().watched).toBeUndefined();
  });

  it("notes each frame with the host, and after a restart goes on with trend, count and verdict", async () => {
    const first = setUp(["covered", "marginal"]);
    await first.keeper.start("tonight");
    for (const name of ["a.h5", "b.h5"]) first.arrive(name);
    await first.settle(2);
    await vi.waitFor(() => expect(first.host.noteFrame).toHaveBeenCalledTimes(2));
    const notes = first.host.noteFrame.mock.calls.map(([, , note]) => note);

    const second = setUp(["leaking"]);
    await second.keeper.look();
    expect(second.store.getState().resumable).toEqual({ label: "tonight", frames: 2 });
    second.host.resumeWatch.mockImplementation(async () =>
      success({ id: "w1", label: "tonight", earlier: [...notes, "torn {"] }),
    );
    await second.keeper.resume();
    expect(second.store.getState().trend).toEqual(first.store.getState().trend);
    expect(second.store.getState().resumable).toBeUndefined();
    second.arrive("c.h5");
    await second.settle(3);
    expect(second.store.getState().trend.map(({ key, name }) => [key, name])).toEqual([
      [1, "a.h5"],
      [2, "b.h5"],
      [3, "c.h5"],
    ]);
    expect(second.store.getState().change).toMatchObject({ from: "marginal", to: "leaking" });
  });

  it("keeps what arrives before the host's answer", async () => {
    const { keeper, arrive, settle, host } = setUp([]);
    host.watchFolder.mockImplementation(async () => {
      arrive("early.h5");
      return success({ id: "w1", label: "tonight", earlier: [] });
    });
    await keeper.start("tonight");
    await settle(1);
  });

  it("asks for the folder's name where the host has no dialog", async () => {
    const { keeper, store, host } = setUp([]);
    host.watchFolder.mockImplementation(async () => failure("unsupported", "no dialog") as never);
    await keeper.start(undefined);
    expect(store.getState()).toMatchObject({ asksFolder: true, watch: undefined });
  });
});
