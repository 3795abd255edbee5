import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { SessionStore } from "../../../../electron/services/session-store.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;
function freshFolder(): string {
  const folder = join(root, String(++count));
  mkdirSync(folder);
  return folder;
}

describe("the session store", () => {
  it("gives back what was saved, across a restart, and nothing at the first start", async () => {
    const folder = join(freshFolder(), "not", "made", "yet");
    expect(await new SessionStore(folder).load()).toEqual({ ok: true, value: undefined });
    const text = '{"runs": ["α", "\\u0000"]}';
    expect(await new SessionStore(folder).save(text)).toEqual({ ok: true, value: undefined });
    expect(await new SessionStore(folder).load()).toEqual({ ok: true, value: text });
    expect(readdirSync(folder)).toEqual(["session.json"]);
  });

  it("ends with the last of many saves at once, and answers each", async () => {
    const store = new SessionStore(freshFolder());
    const answers = await Promise.all(Array.from({ length: 40 }, (_, i) => store.save(`session ${i}`)));
    expect(answers.every(({ ok }) => ok)).toBe(true);
    expect(await store.load()).toEqual({ ok: true, value: "session 39" });
    await store.save("later");
    expect(await store.load()).toEqual({ ok: true, value: "later" });
  });

  it("puts a session of a later version aside instead of writing over it", async () => {
    const folder = freshFolder();
    const later = JSON.stringify({ halationSession: 3, documents: [] });
    writeFileSync(join(folder, "session.json"), later);
    const store = new SessionStore(folder);
    const loaded = await store.load();
    expect(loaded).toMatchObject({ ok: false, fault: { code: "unreadable" } });
    expect(loaded.ok ? "" : loaded.fault.message).toContain("has version 3, and this program knows 2");
    await store.save("new");
    const kept = readdirSync(folder).filter((name) => name.startsWith("session.version-3"));
    expect(kept).toHaveLength(1);
    expect(readFileSync(join(folder, kept[0]!), "utf8")).toBe(later);
  });

  it("reads what the first version kept", async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, "session.json"), '{"halationSession":1,"session":"{}"}');
    expect(await new SessionStore(folder).load()).toEqual({ ok: true, value: "{}" });
  });

  it.each(["", "{", "[]", "null", '{"halationSession": 1}', '{"session": "x"}'])(
    "puts a damaged file (%s) aside and begins anew",
    async (text) => {
      const folder = freshFolder();
      writeFileSync(join(folder, "session.json"), text);
      const store = new SessionStore(folder);
      expect(await store.load()).toMatchObject({ ok: false, fault: { code: "unreadable" } });
      expect(await store.load()).toEqual({ ok: true, value: undefined });
      expect(readdirSync(folder)).toHaveLength(1);
    },
  );

  it("says what is wrong when the session can't be written, and writes again once it can", async () => {
    const folder = freshFolder();
    // A file where the folder should be: what a lost share looks like to the file system.
    const blocked = join(folder, "user-data");
    writeFileSync(blocked, "");
    const store = new SessionStore(join(blocked, "inner"));
    expect(await store.save("work")).toMatchObject({
      ok: false,
      fault: { message: expect.stringContaining("a part of its path is a file") as string },
    });
    const working = new SessionStore(folder);
    mkdirSync(join(folder, "session.json"));
    expect(await working.save("work")).toMatchObject({ ok: false });
  });
});
