import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { writeFileAtomic, writeFolderAtomic } from "../../../../electron/services/atomic-write.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const bytes = (text: string) => new TextEncoder().encode(text);

describe("an atomic write", () => {
  it("replaces a file's content and leaves nothing else behind", async () => {
    const folder = join(root, "replace");
    mkdirSync(folder);
    writeFileSync(join(folder, "curve.csv"), "old");
    await writeFileAtomic(join(folder, "curve.csv"), "new");
    expect(readFileSync(join(folder, "curve.csv"), "utf8")).toBe("new");
    expect(readdirSync(folder)).toEqual(["curve.csv"]);
  });

  it("keeps the old content when the new one can't take its place", async () => {
    const folder = join(root, "blocked");
    // A folder of that name can't be replaced by a file: the rename fails after the writing succeeded.
    mkdirSync(join(folder, "curve.csv", "inner"), { recursive: true });
    await expect(writeFileAtomic(join(folder, "curve.csv"), "new")).rejects.toMatchObject({ code: "EISDIR" });
    expect(readdirSync(folder)).toEqual(["curve.csv"]);
    expect(readdirSync(join(folder, "curve.csv"))).toEqual(["inner"]);
  });

  it("puts a whole folder in place, or into an empty one", async () => {
    const target = join(root, "result");
    mkdirSync(target);
    await writeFolderAtomic(target, [
      { path: "summary.json", bytes: bytes("{}") },
      { path: "curves/radial.csv", bytes: bytes("Q,I\n") },
    ]);
    expect(readdirSync(target).sort()).toEqual(["curves", "summary.json"]);
    expect(readFileSync(join(target, "curves/radial.csv"), "utf8")).toBe("Q,I\n");
  });

  it("leaves a folder that holds something as it is, and no temporary one", async () => {
    const parent = join(root, "occupied");
    mkdirSync(join(parent, "result"), { recursive: true });
    writeFileSync(join(parent, "result", "mine.txt"), "mine");
    await expect(
      writeFolderAtomic(join(parent, "result"), [{ path: "summary.json", bytes: bytes("{}") }]),
    ).rejects.toMatchObject({ code: "ENOTEMPTY" });
    expect(readdirSync(parent)).toEqual(["result"]);
    expect(readdirSync(join(parent, "result"))).toEqual(["mine.txt"]);
  });

  it("leaves nothing when one of the files can't be written", async () => {
    const parent = join(root, "half");
    mkdirSync(parent);
    // "a" can't be a file and a folder at once.
    await expect(
      writeFolderAtomic(join(parent, "result"), [
        { path: "a", bytes: bytes("1") },
        { path: "a/b", bytes: bytes("2") },
      ]),
    ).rejects.toThrow();
    expect(readdirSync(parent)).toEqual([]);
  });
});
