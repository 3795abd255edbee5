import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { checkOutputFolder, writeOutputFolder } from "../../../../electron/services/output-folder.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;
function parent(): string {
  const folder = join(root, String(++count));
  mkdirSync(folder);
  return folder;
}
const result = (...paths: string[]) => paths.map((path) => ({ path, bytes: new TextEncoder().encode(path) }));
const listed = (folder: string) => readdirSync(folder, { recursive: true }).sort();

describe("a result folder", () => {
  it("is made, and replaced as a whole by the next run of the program", async () => {
    const out = join(parent(), "deep", "out");
    expect(await writeOutputFolder(out, result("summary.json", "curves/a.csv", "curves/b.csv"), false)).toMatchObject({
      ok: true,
    });
    expect(await writeOutputFolder(out, result("summary.json", "curves/a.csv"), false)).toMatchObject({ ok: true });
    expect(listed(out)).toEqual([".halation.json", "curves", join("curves", "a.csv"), "summary.json"]);
    expect(readdirSync(join(out, ".."))).toEqual(["out"]);
  });

  it("is refused where somebody else's files lie, and they stay", async () => {
    const out = parent();
    writeFileSync(join(out, "thesis.txt"), "years");
    const refused = await writeOutputFolder(out, result("summary.json"), false);
    expect(refused).toMatchObject({ ok: false, fault: { code: "inconsistent", field: "--out" } });
    expect(listed(out)).toEqual(["thesis.txt"]);
    expect(await checkOutputFolder(out, false)).toEqual(refused);
  });

  it("is refused where a file of somebody else's lies among ours, and names it", async () => {
    const out = join(parent(), "out");
    await writeOutputFolder(out, result("summary.json", "curves/a.csv"), false);
    writeFileSync(join(out, "curves", "fit.txt"), "fit");
    const refused = await writeOutputFolder(out, result("summary.json"), false);
    expect(refused.ok ? "" : refused.fault.message).toContain("holds curves/fit.txt, which this program did not make");
    expect(existsSync(join(out, "curves", "a.csv"))).toBe(true);
  });

  it("is written around other files when forced: ours are renewed, theirs stay", async () => {
    const folder = parent();
    const out = join(folder, "out");
    await writeOutputFolder(out, result("summary.json", "curves/a.csv", "maps/q.npy"), false);
    writeFileSync(join(out, "curves", "fit.txt"), "fit");
    expect(await writeOutputFolder(out, result("summary.json", "figures/f.svg"), true)).toMatchObject({ ok: true });
    expect(listed(out)).toEqual([
      ".halation.json",
      "curves",
      join("curves", "fit.txt"),
      "figures",
      join("figures", "f.svg"),
      "summary.json",
    ]);
    expect(readFileSync(join(out, "curves", "fit.txt"), "utf8")).toBe("fit");
    expect(readdirSync(folder)).toEqual(["out"]);
  });

  it("does not believe a marker that names files outside", async () => {
    const folder = parent();
    const out = join(folder, "out");
    mkdirSync(out);
    writeFileSync(join(folder, "precious.txt"), "precious");
    writeFileSync(join(out, ".halation.json"), JSON.stringify({ program: "Halation", files: ["../precious.txt"] }));
    expect(await writeOutputFolder(out, result("summary.json"), false)).toMatchObject({ ok: false });
    expect(await writeOutputFolder(out, result("summary.json"), true)).toMatchObject({ ok: true });
    expect(readFileSync(join(folder, "precious.txt"), "utf8")).toBe("precious");
  });

  it("is left alone when the new one can't be written", async () => {
    const folder = parent();
    const out = join(folder, "out");
    await writeOutputFolder(out, result("summary.json"), false);
    // "a" can't be a file and a folder at once.
    const failed = await writeOutputFolder(out, result("a", "a/b"), false);
    expect(failed).toMatchObject({ ok: false });
    expect(listed(out)).toEqual([".halation.json", "summary.json"]);
    expect(readdirSync(folder)).toEqual(["out"]);
  });

  it("is refused where a file has its name", async () => {
    const out = join(parent(), "out");
    writeFileSync(out, "file");
    expect(await writeOutputFolder(out, result("summary.json"), false)).toMatchObject({
      ok: false,
      fault: { message: `cannot list ${out}: a part of its path is a file, not a folder` },
    });
  });
});
