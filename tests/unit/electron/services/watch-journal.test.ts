import { mkdirSync, readFileSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { Result } from "../../../../core/model/result.ts";
import { WatchJournal } from "../../../../electron/services/watch-journal.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;
function freshOut(): string {
  const out = join(root, `out-${count++}`);
  mkdirSync(out);
  return out;
}
function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}
const frame = (name: string) => ({ name, size: 100, mtimeMs: 5.25 });
const logOf = (out: string): unknown[] =>
  readFileSync(join(out, "watch.jsonl"), "utf8")
    .split("\n")
    .filter((line) => line !== "")
    .map((line) => JSON.parse(line) as unknown);

describe("WatchJournal", () => {
  it("knows after a restart what was done, and counts on", async () => {
    const out = freshOut();
    const first = value(await WatchJournal.open(out, "/runs"));
    expect([first.nextSequence, first.last]).toEqual([1, undefined]);
    value(await first.enter(frame("a.npy"), "a", { sequence: 1, verdict: "covered" }));
    value(await first.enter(frame("b.npy"), "b", { sequence: 2, verdict: null }));
    await first.close();
    const second = value(await WatchJournal.open(out, "/runs"));
    expect([...second.done.keys()]).toEqual(["a.npy", "b.npy"]);
    expect(second.last).toEqual({ sequence: 2, verdict: null });
    expect(second.nextSequence).toBe(3);
    await second.close();
    expect(logOf(out)).toEqual([
      { sequence: 1, verdict: "covered" },
      { sequence: 2, verdict: null },
    ]);
  });

  it("adds a line that a crash kept from the log, once", async () => {
    const out = freshOut();
    const first = value(await WatchJournal.open(out, "/runs"));
    value(await first.enter(frame("a.npy"), "a", { sequence: 1 }));
    value(await first.enter(frame("b.npy"), "b", { sequence: 2 }));
    await first.close();
    // Two bytes of the second line reached the disk.
    truncateSync(join(out, "watch.jsonl"), '{"sequence":1}\n'.length + 2);
    for (let restart = 0; restart < 2; restart++) await value(await WatchJournal.open(out, "/runs")).close();
    expect(logOf(out)).toEqual([{ sequence: 1 }, { sequence: 2 }]);
  });

  it("forgets a file whose entry was torn, so that it is done again", async () => {
    const out = freshOut();
    const first = value(await WatchJournal.open(out, "/runs"));
    value(await first.enter(frame("a.npy"), "a", { sequence: 1 }));
    const whole = readFileSync(join(out, "watch-journal.jsonl")).length;
    await first.close();
    writeFileSync(join(out, "watch-journal.jsonl"), '{"sequence":2,"file":"b.n', { flag: "a" });
    const second = value(await WatchJournal.open(out, "/runs"));
    expect([...second.done.keys()]).toEqual(["a.npy"]);
    await second.close();
    expect(readFileSync(join(out, "watch-journal.jsonl"))).toHaveLength(whole);
  });

  it("gives each file a result folder of its own, also where names differ in capitals or ending alone", async () => {
    const out = freshOut();
    const journal = value(await WatchJournal.open(out, "/runs"));
    value(await journal.enter(frame("a.npy"), journal.folderFor("a.npy"), { sequence: 1 }));
    expect(journal.folderFor("a.npy")).toBe("a");
    expect(journal.folderFor("A.h5")).toBe("A-2");
    expect(journal.folderFor("watch.jsonl.npy")).toBe("watch.jsonl-2");
    await journal.close();
  });

  it("refuses a folder with other files in it, and one of another watch", async () => {
    const foreign = freshOut();
    writeFileSync(join(foreign, "thesis.txt"), "mine");
    expect(await WatchJournal.open(foreign, "/runs")).toMatchObject({ ok: false, fault: { field: "--out" } });
    const out = freshOut();
    await value(await WatchJournal.open(out, "/runs")).close();
    expect(await WatchJournal.open(out, "/elsewhere")).toMatchObject({
      ok: false,
      fault: { message: expect.stringContaining("/runs") },
    });
  });
});
