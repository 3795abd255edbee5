import {
  appendFileSync,
  mkdirSync,
  readFileSync,
  renameSync,
  rmSync,
  symlinkSync,
  unlinkSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import { describe, expect, it, vi } from "vitest";
import { npyBytes } from "../../../../core/report/npy.ts";
import { openRunFile } from "../../../../electron/services/run-source.ts";
import {
  type Arrival,
  type ArrivalOutcome,
  type WatchOptions,
  watchFolder,
} from "../../../../electron/services/watch-folder.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const POLL_MS = 20;
const SIDE = 32;
let count = 0;

function freshFolder(): string {
  const folder = join(root, `run-${count++}`);
  mkdirSync(folder);
  return folder;
}

/** A frame whose first pixel says which it is. */
function frame(number: number): Uint8Array {
  const counts = new Uint16Array(SIDE * SIDE);
  counts[0] = number;
  return npyBytes(counts, { width: SIDE, height: SIDE });
}

/** Reads the frame to its end; the number in it. */
async function numberIn(path: string): Promise<number | "incomplete" | "other"> {
  const signal = new AbortController().signal;
  const run = await openRunFile(path, {}, signal);
  if (!run.ok) return run.fault.code === "incomplete" ? "incomplete" : "other";
  try {
    const read = await run.value.banks[0]!.readFrame(0, signal);
    if (!read.ok) return read.fault.code === "incomplete" ? "incomplete" : "other";
    return read.value.counts[0]!;
  } finally {
    run.value.close();
  }
}

interface Seen {
  readonly name: string;
  readonly number: number | string;
  readonly isReplacement: boolean;
}

/** Watches until `end`; what arrived stands in `seen`. */
function startWatch(folder: string, options: Partial<WatchOptions> = {}) {
  const control = new AbortController();
  const seen: Seen[] = [];
  const onArrival = async ({ name, path, isReplacement, isLastTry }: Arrival): Promise<ArrivalOutcome> => {
    const number = await numberIn(path);
    if (number === "incomplete" && !isLastTry) return "incomplete";
    seen.push({ name, number, isReplacement });
    return "done";
  };
  const ended = watchFolder({ folder, pollMs: POLL_MS, signal: control.signal, onArrival, ...options });
  const end = async () => {
    control.abort();
    return ended;
  };
  const reach = (length: number) =>
    vi.waitFor(() => expect(seen.length).toBeGreaterThanOrEqual(length), { timeout: 20_000, interval: 10 });
  return { seen, end, reach };
}

describe("watchFolder", () => {
  it("hands over what is there and what comes, each once, and ends when it is told to", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "frame-1.npy"), frame(1));
    const { seen, end, reach } = startWatch(folder);
    await reach(1);
    writeFileSync(join(folder, "frame-2.npy"), frame(2));
    await reach(2);
    await sleep(10 * POLL_MS);
    expect(await end()).toEqual({ ok: true, value: undefined });
    expect(seen.map(({ number }) => number)).toEqual([1, 2]);
  });

  it("waits for a file that grows in steps longer than two looks, by what its reader says", async () => {
    const folder = freshFolder();
    const whole = frame(7);
    const path = join(folder, "slow.npy");
    const { seen, end, reach } = startWatch(folder);
    for (let at = 0; at < whole.length; at += 512) {
      appendFileSync(path, whole.subarray(at, at + 512));
      await sleep(4 * POLL_MS);
    }
    await reach(1);
    await end();
    expect(seen).toEqual([{ name: "slow.npy", number: 7, isReplacement: false }]);
  });

  it("gives up a file that stays incomplete, so that it can be told", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "torn.npy"), frame(1).subarray(0, 1500));
    const { seen, end, reach } = startWatch(folder, { patienceMs: 10 * POLL_MS });
    await reach(1);
    await sleep(10 * POLL_MS);
    await end();
    expect(seen).toEqual([{ name: "torn.npy", number: "incomplete", isReplacement: false }]);
  });

  it("hands a replaced file over again, whether it was written over or renamed into place", async () => {
    const folder = freshFolder();
    const path = join(folder, "a.npy");
    writeFileSync(path, frame(1));
    const { seen, end, reach } = startWatch(folder);
    await reach(1);
    await sleep(5);
    writeFileSync(path, frame(2));
    await reach(2);
    await sleep(5);
    writeFileSync(join(folder, ".a.npy.tmp"), frame(3));
    renameSync(join(folder, ".a.npy.tmp"), path);
    await reach(3);
    await end();
    expect(seen.map(({ number, isReplacement }) => [number, isReplacement])).toEqual([
      [1, false],
      [2, true],
      [3, true],
    ]);
  });

  it("takes a file that arrives late with an old time when it comes", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "b.npy"), frame(2));
    const { seen, end, reach } = startWatch(folder);
    await reach(1);
    writeFileSync(join(folder, "a.npy"), frame(1));
    utimesSync(join(folder, "a.npy"), 1_000_000, 1_000_000);
    await reach(2);
    await end();
    expect(seen.map(({ name }) => name)).toEqual(["b.npy", "a.npy"]);
  });

  it("passes over a file that vanishes, folders, hidden and temporary files, and those left out", async () => {
    const folder = freshFolder();
    mkdirSync(join(folder, "results.npy"));
    for (const name of [".hidden.npy", "a.npy.part", "b.tmp", "notes.json", "direct.npy", "gone.npy"])
      writeFileSync(join(folder, name), frame(1));
    symlinkSync(join(folder, "nowhere"), join(folder, "dangling.npy"));
    const { seen, end, reach } = startWatch(folder, { leaveOut: (path) => path === join(folder, "direct.npy") });
    unlinkSync(join(folder, "gone.npy"));
    writeFileSync(join(folder, "real.npy"), frame(5));
    await reach(1);
    await end();
    expect(seen.map(({ name }) => name)).toEqual(["real.npy"]);
  });

  it("waits for a folder that goes away, and loses and repeats nothing when it is there again", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "a.npy"), frame(1));
    const troubles: (string | undefined)[] = [];
    const { seen, end, reach } = startWatch(folder, { onTrouble: (message) => troubles.push(message) });
    await reach(1);
    renameSync(folder, `${folder}-away`);
    await vi.waitFor(() => expect(troubles).toHaveLength(1));
    writeFileSync(join(`${folder}-away`, "b.npy"), frame(2));
    renameSync(`${folder}-away`, folder);
    await reach(2);
    writeFileSync(join(folder, "c.npy"), frame(3));
    await reach(3);
    await end();
    expect(seen.map(({ number }) => number)).toEqual([1, 2, 3]);
    expect(troubles).toEqual([expect.stringContaining("there is no such file"), undefined]);
  });

  it("tells at once of a folder that is not there", async () => {
    expect(await startWatch(join(root, "absent")).end()).toMatchObject({ ok: false, fault: { code: "unreadable" } });
  });

  it("goes on where an earlier watch was", async () => {
    const folder = freshFolder();
    const done = new Map<string, string>();
    const remember: WatchOptions["onArrival"] = async ({ name, size, mtimeMs }) => {
      done.set(name, `${size} ${mtimeMs}`);
      return "done";
    };
    for (let i = 0; i < 6; i++) writeFileSync(join(folder, `${i}.npy`), frame(i));
    const first = startWatch(folder, { onArrival: remember });
    await vi.waitFor(() => expect(done.size).toBe(6));
    await first.end();
    writeFileSync(join(folder, "6.npy"), frame(6));
    const second = startWatch(folder, { done });
    await second.reach(1);
    await second.end();
    expect(second.seen.map(({ number }) => number)).toEqual([6]);
  });

  it("takes 1,000 frames written one after the other, each once, in order, in flat memory", async () => {
    const folder = freshFolder();
    const total = 1000;
    const heap: number[] = [];
    const control = new AbortController();
    const numbers: (number | string)[] = [];
    // Heap after a full collection: what is alive, without what waits to be collected.
    setFlagsFromString("--expose-gc");
    const collect = runInNewContext("gc") as () => void;
    const watched = watchFolder({
      folder,
      pollMs: POLL_MS,
      signal: control.signal,
      onArrival: async ({ path, isReplacement }) => {
        const number = await numberIn(path);
        if (number === "incomplete") return "incomplete";
        numbers.push(isReplacement ? `replaced ${number}` : number);
        if (numbers.length % 100 === 0) {
          collect();
          heap.push(process.memoryUsage().heapUsed);
        }
        if (numbers.length === total) control.abort();
        return "done";
      },
    });
    for (let i = 0; i < total; i++) {
      // Without padding: the order must not hang on names that sort well.
      writeFileSync(join(folder, `run${i}.npy`), frame(i));
      if (i % 5 === 4) await sleep(2);
    }
    await watched;
    expect(numbers).toEqual(Array.from({ length: total }, (_, i) => i));
    // From 200 to 1000 files. A frame kept for each would be 1.6 MB, a stamp for each some 0.2 MB.
    const grown = ((heap.at(-1) ?? 0) - (heap[1] ?? 0)) / 1e6;
    process.stderr.write(`heap after collection grew by ${grown.toFixed(2)} MB from file 200 to file 1000\n`);
    expect(grown).toBeLessThan(1);
    expect(readFileSync(join(folder, "run999.npy"))).toHaveLength(frame(0).length);
    rmSync(folder, { recursive: true });
  }, 60_000);
});
