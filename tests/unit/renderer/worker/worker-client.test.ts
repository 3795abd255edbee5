import { describe, expect, it, vi } from "vitest";
import type { FromWorker, ToWorker } from "../../../../renderer/worker/protocol.ts";
import { LONGEST_READING_S, READING_LIMIT_S } from "../../../../renderer/worker/reading-clock.ts";
import { restartWords, WorkerClient, type WorkerEvents } from "../../../../renderer/worker/worker-client.ts";

/** Of a question or of its cancelling. */
function idOf(message: ToWorker | undefined): number {
  if (message === undefined || !("id" in message)) throw new Error("this message asks nothing");
  return message.id;
}

/** Workers that answer when the test says so. */
function setUp(share = 1) {
  const started: { events: WorkerEvents; received: ToWorker[]; ended: boolean }[] = [];
  const restarts: string[] = [];
  const client = new WorkerClient(
    (events) => {
      const worker = { events, received: [] as ToWorker[], ended: false };
      started.push(worker);
      return {
        postMessage: (message) => worker.received.push(message),
        terminate: () => {
          worker.ended = true;
        },
      };
    },
    (reason) => restarts.push(reason),
    async () => share,
  );
  const current = () => started.at(-1)!;
  const answer = (id: number): FromWorker => ({ id, kind: "answer", result: { ok: true, value: undefined } });
  return { client, current, started, restarts, answer };
}

const reduce = { plan: { planVersion: 1, runs: { sample: "a.h5" } }, sampleIndex: 0, knownFrame: undefined } as const;

describe("the worker's client", () => {
  it("brings each answer to the question with its id", async () => {
    const { client, current } = setUp();
    const first = client.ask("bin-map", { averageId: "a" });
    const second = client.ask("bin-map", { averageId: "b" });
    const [one, two] = current().received;
    const bins = (n: number) => ({ ok: true, value: { serial: n, bins: new Int32Array() } }) as const;
    current().events.onMessage({ id: idOf(two), kind: "answer", result: bins(2) });
    current().events.onMessage({ id: idOf(one), kind: "answer", result: bins(1) });
    expect(await first).toMatchObject({ value: { serial: 1 } });
    expect(await second).toMatchObject({ value: { serial: 2 } });
  });

  it("cancels the question before in the same slot, and drops its answer", async () => {
    const { client, current, answer } = setUp();
    const old = client.ask("reduce", reduce, { slot: "reduce" });
    const fresh = client.ask("reduce", reduce, { slot: "reduce" });
    expect(await old).toMatchObject({ ok: false, fault: { code: "cancelled" } });
    const [asked, cancel, again] = current().received;
    expect(cancel).toEqual({ id: idOf(asked), kind: "cancel" });
    // Too late: nobody waits for it.
    current().events.onMessage(answer(idOf(asked)));
    current().events.onMessage(answer(idOf(again)));
    expect(await fresh).toMatchObject({ ok: true });
  });

  it("passes progress on, and none after the answer", async () => {
    const { client, current, answer } = setUp();
    const heard: string[] = [];
    const asked = client.ask("reduce", reduce, { onProgress: ({ label }) => heard.push(label) });
    const id = idOf(current().received[0]);
    current().events.onMessage({ id, kind: "progress", progress: { label: "reading" } });
    current().events.onMessage(answer(id));
    await asked;
    current().events.onMessage({ id, kind: "progress", progress: { label: "late" } });
    expect(heard).toEqual(["reading"]);
  });

  it("starts a dead worker again and says so to whoever waits", async () => {
    const { client, current, started, restarts, answer } = setUp();
    const lost = client.ask("reduce", reduce);
    current().events.onDeath("out of memory");
    expect(await lost).toMatchObject({ ok: false, fault: { message: expect.stringContaining("out of memory") } });
    expect(started.map(({ ended }) => ended)).toEqual([true, false]);
    expect(restarts).toEqual(["out of memory"]);
    const next = client.ask("reduce", reduce);
    current().events.onMessage(answer(idOf(current().received[0])));
    expect(await next).toMatchObject({ ok: true });
  });

  it("ends a worker that a file holds up, and has the next one leave the file alone", async () => {
    vi.useFakeTimers();
    try {
      const { client, current, started, restarts } = setUp();
      const lost = client.ask("reduce", reduce);
      const file = { key: "bad.h5 1", name: "bad.h5" };
      // A sign of life in time, and work that came to its end: nothing happens.
      current().events.onMessage({ kind: "reading", file });
      await vi.advanceTimersByTimeAsync(1000 * READING_LIMIT_S - 200);
      current().events.onMessage({ kind: "reading", file });
      await vi.advanceTimersByTimeAsync(1000 * READING_LIMIT_S - 200);
      current().events.onMessage({ kind: "reading", file: undefined });
      await vi.advanceTimersByTimeAsync(10_000 * READING_LIMIT_S);
      expect(started).toHaveLength(1);
      // What delivers much may take longer.
      current().events.onMessage({ kind: "reading", file: { ...file, more_s: 60 } });
      await vi.advanceTimersByTimeAsync(50_000);
      expect(started).toHaveLength(1);
      current().events.onMessage({ kind: "reading", file });
      await vi.advanceTimersByTimeAsync(1500 * READING_LIMIT_S);
      const reason = "reading bad.h5 took longer than 5 s; the file may be damaged";
      expect(await lost).toMatchObject({ ok: false, fault: { message: expect.stringContaining(reason) } });
      expect(restarts).toEqual([reason]);
      expect(started.map(({ ended }) => ended)).toEqual([true, false]);
      expect(current().received).toEqual([{ kind: "avoid", key: file.key, reason }]);
    } finally {
      vi.useRealTimers();
    }
  });

  it("ends a worker whose library a file has stopped, without waiting", async () => {
    const { client, current, started, restarts } = setUp();
    const lost = client.ask("reduce", reduce);
    const file = { key: "trap.h5 1", name: "trap.h5" };
    current().events.onMessage({ kind: "reading", file: { ...file, hasStopped: true } });
    const reason = "reading trap.h5 stopped the HDF5 library; the file may be damaged";
    expect(await lost).toMatchObject({ ok: false, fault: { message: restartWords(reason) } });
    expect(restarts).toEqual([reason]);
    expect(started.map(({ ended }) => ended)).toEqual([true, false]);
    expect(current().received).toEqual([{ kind: "avoid", key: file.key, reason }]);
  });

  it("waits longer where others have the processors, but not without end", async () => {
    vi.useFakeTimers();
    try {
      for (const [share, longest_s] of [
        [0.25, 4 * READING_LIMIT_S],
        [0, LONGEST_READING_S],
      ] as const) {
        const { current, started } = setUp(share);
        current().events.onMessage({ kind: "reading", file: { key: "good.h5 1", name: "good.h5" } });
        await vi.advanceTimersByTimeAsync(1000 * longest_s - 3000);
        expect(started).toHaveLength(1);
        await vi.advanceTimersByTimeAsync(6000);
        expect(started).toHaveLength(2);
      }
    } finally {
      vi.useRealTimers();
    }
  });

  it("tells a mistake of ours from a fault of the input", async () => {
    const { client, current } = setUp();
    const asked = client.ask("reduce", reduce);
    current().events.onMessage({ id: idOf(current().received[0]), kind: "bug", message: "lengths differ" });
    expect(await asked).toMatchObject({
      ok: false,
      fault: { message: expect.stringContaining("mistake in Halation") },
    });
  });
});
