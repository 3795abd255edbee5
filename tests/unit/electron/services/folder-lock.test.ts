import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { hostname } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { FolderLock } from "../../../../electron/services/folder-lock.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;
function freshFolder(lock?: unknown): { folder: string; file: string } {
  const folder = join(root, `out-${count++}`);
  const file = join(folder, "watch.lock");
  mkdirSync(folder);
  if (lock !== undefined) writeFileSync(file, typeof lock === "string" ? lock : JSON.stringify(lock));
  return { folder, file };
}
/** A process that has ended. */
const ended = spawnSync(process.execPath, ["-e", ""]).pid;

describe("FolderLock", () => {
  it("keeps a second watch out, names the first, and lets it in when that has ended", async () => {
    const { folder, file } = freshFolder();
    const first = await FolderLock.take(folder);
    if (!first.ok) throw new Error(first.fault.message);
    const second = await FolderLock.take(folder);
    expect(second).toMatchObject({ ok: false, fault: { code: "inconsistent", field: "--out" } });
    expect(!second.ok && second.fault.message).toContain(`process ${process.pid} on ${hostname()}`);
    await first.value.release();
    expect(existsSync(file)).toBe(false);
    expect((await FolderLock.take(folder)).ok).toBe(true);
  });

  it.each([
    ["of a process that has died", { pid: ended, host: hostname(), since: "2026-01-01T00:00:00Z" }],
    ["that a crash left empty", ""],
    ["that a crash cut", '{"pid": 12'],
  ])("takes over a lock %s", async (_, lock) => {
    const { folder, file } = freshFolder(lock);
    expect((await FolderLock.take(folder)).ok).toBe(true);
    expect(JSON.parse(readFileSync(file, "utf8"))).toMatchObject({ pid: process.pid });
  });

  it("honours the lock of another machine, whose processes it can't see", async () => {
    const { folder, file } = freshFolder({ pid: ended, host: "elsewhere", since: "2026-01-01T00:00:00Z" });
    const taken = await FolderLock.take(folder);
    expect(!taken.ok && taken.fault.message).toContain(`elsewhere`);
    expect(!taken.ok && taken.fault.message).toContain(`delete ${file}`);
  });
});
