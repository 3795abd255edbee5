import { spawn, spawnSync } from "node:child_process";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { hostname } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { Result } from "../../../../core/model/result.ts";
import { FileTokens } from "../../../../electron/services/file-tokens.ts";
import { WindowSessions } from "../../../../electron/services/window-sessions.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;
function freshFolder(): string {
  const folder = join(root, String(++count));
  mkdirSync(folder);
  return folder;
}

function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

const lockOf = (pid: number) => JSON.stringify({ pid, host: hostname(), since: new Date().toISOString() });

describe("the sessions of several windows", () => {
  it("are kept apart: the second begins, and neither writes over the other", async () => {
    const sessions = new WindowSessions(freshFolder());
    expect(value(await sessions.load("a"))).toEqual({ json: undefined, isBesideAnother: false });
    value(await sessions.save("a", "of a"));
    expect(value(await sessions.load("b"))).toEqual({ json: undefined, isBesideAnother: true });
    value(await sessions.save("b", "of b"));
    value(await sessions.save("a", "of a, later"));
    expect(value(await sessions.load("a")).json).toBe("of a, later");
    expect(value(await sessions.load("b")).json).toBe("of b");
  });

  it("are free when their windows are gone, the newest first", async () => {
    const folder = freshFolder();
    const sessions = new WindowSessions(folder);
    for (const window of ["a", "b"]) {
      value(await sessions.load(window));
      value(await sessions.save(window, `of ${window}`));
      // Further apart than the clock of any file system is coarse.
      await new Promise((resume) => setTimeout(resume, 20));
    }
    await sessions.releaseAll();
    expect(readdirSync(folder).sort()).toEqual(["session-2.json", "session.json"]);
    const next = new WindowSessions(folder);
    expect(value(await next.load("c")).json).toBe("of b");
    expect(value(await next.load("d"))).toEqual({ json: "of a", isBesideAnother: false });
  });

  it("take a late word of a window that is gone, but never over what another has begun to hold", async () => {
    const sessions = new WindowSessions(freshFolder());
    value(await sessions.load("a"));
    value(await sessions.save("a", "one"));
    await sessions.release("a");
    value(await sessions.save("a", "two"));
    expect(value(await sessions.load("b")).json).toBe("two");
    value(await sessions.save("a", "three"));
    expect(value(await sessions.load("b")).json).toBe("two");
    // It is not lost either.
    expect(value(await sessions.load("c")).json).toBe("three");
  });

  it("are kept from another process that lives, and taken over from one that has died", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "session.json"), '{"halationSession":2,"session":"theirs"}');
    const other = spawn(process.execPath, ["-e", "setTimeout(() => {}, 60000)"]);
    const pid = other.pid ?? 0;
    writeFileSync(join(folder, "session.lock"), lockOf(pid));
    const sessions = new WindowSessions(folder);
    expect(value(await sessions.load("a"))).toEqual({ json: undefined, isBesideAnother: true });
    value(await sessions.save("a", "ours"));
    expect(readFileSync(join(folder, "session.json"), "utf8")).toContain("theirs");
    const ended = new Promise((done) => other.once("exit", done));
    other.kill();
    await ended;
    expect(value(await sessions.load("b")).json).toBe("theirs");
  });

  it("are taken over from a dead process that had the number of this one", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "session.json"), '{"halationSession":2,"session":"kept"}');
    writeFileSync(join(folder, "session.lock"), lockOf(process.pid));
    expect(value(await new WindowSessions(folder).load("a")).json).toBe("kept");
    const dead = freshFolder();
    writeFileSync(join(dead, "session.json"), '{"halationSession":2,"session":"kept"}');
    writeFileSync(join(dead, "session.lock"), lockOf(spawnSync(process.execPath, ["-e", ""]).pid));
    expect(value(await new WindowSessions(dead).load("a")).json).toBe("kept");
  });
});

describe("the tokens of two processes", () => {
  it("are all in the file, whoever saves last", async () => {
    const folder = freshFolder();
    const store = join(folder, "open-files.json");
    for (const name of ["a.bin", "b.bin"]) writeFileSync(join(folder, name), name);
    const [first, second] = [new FileTokens(store, folder), new FileTokens(store, folder)];
    const a = value(await first.grant(join(folder, "a.bin")));
    await first.saved();
    const b = value(await second.grant(join(folder, "b.bin")));
    await second.saved();
    const later = new FileTokens(store, folder);
    await later.restore();
    expect(value(later.pathOf(a.token))).toContain("a.bin");
    expect(value(later.pathOf(b.token))).toContain("b.bin");
  });
});
