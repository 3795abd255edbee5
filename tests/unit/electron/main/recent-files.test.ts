import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { menuTemplate } from "../../../../electron/main/menu-template.ts";
import { RecentFiles } from "../../../../electron/main/recent-files.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const parts = { pickFiles: () => undefined, clearRecent: () => undefined };

describe("recent files", () => {
  it("come back at the next start, newest first, each once, and no more than ten", async () => {
    const file = join(await temporaryFolder(), "recent-files.json");
    let shown: readonly string[] = [];
    const first = new RecentFiles(file, (paths) => {
      shown = paths;
    });
    await first.load();
    for (let i = 0; i < 14; i++) first.add([`/data/${i % 12}.h5`]);
    await first.settled();
    const expected = [1, 0, 11, 10, 9, 8, 7, 6, 5, 4].map((i) => `/data/${i}.h5`);
    expect(shown).toEqual(expected);
    const next = new RecentFiles(file, (paths) => {
      shown = paths;
    });
    shown = [];
    await next.load();
    expect(shown).toEqual(expected);
  });

  it("are none where the list is damaged", async () => {
    const file = join(await temporaryFolder(), "recent-files.json");
    await writeFile(file, "[1, ");
    let shown: readonly string[] | undefined;
    await new RecentFiles(file, (paths) => {
      shown = paths;
    }).load();
    expect(shown).toEqual([]);
  });
});

describe("the menu", () => {
  const fileMenu = (
    isMac: boolean,
    recent: readonly string[],
    openRecent: (path: string) => void = () => undefined,
  ) => {
    const file = menuTemplate({ ...parts, isMac, recent, openRecent }).find(({ label }) => label === "File");
    if (!Array.isArray(file?.submenu)) throw new Error("no file menu");
    return file.submenu;
  };

  it("opens a recent file, and tells files of one name apart by their folders", () => {
    const opened: string[] = [];
    const paths = ["/a/run & 1.h5", "/b/cell.h5", "/c/cell.h5"];
    const recent = fileMenu(false, paths, (path) => opened.push(path)).find(({ label }) => label === "Open recent");
    if (!Array.isArray(recent?.submenu)) throw new Error("no recent files");
    const labels = recent.submenu.map(({ label }) => label);
    expect(labels.slice(0, 3)).toEqual(["run && 1.h5", "cell.h5 (/b)", "cell.h5 (/c)"]);
    recent.submenu[1]?.click?.(undefined as never, undefined, undefined as never);
    expect(opened).toEqual(["/b/cell.h5"]);
  });

  it("leaves the list to the system on a Mac", () => {
    expect(fileMenu(true, ["/a/run.h5"]).map(({ role }) => role)).toContain("recentDocuments");
  });
});
