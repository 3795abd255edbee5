import { spawnSync } from "node:child_process";
import { chmodSync, cpSync, existsSync, mkdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { afterEach, describe, expect, it, vi } from "vitest";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const LAUNCH = resolve(import.meta.dirname, "../../../../electron/launch");
const root = temporaryFolder();

// The launchers are plain JavaScript that runs before anything is installed, so they have no types to import.
async function launcher<T>(name: string): Promise<T> {
  return (await import(join(LAUNCH, name))) as T;
}

let count = 0;
function project(files: Readonly<Record<string, string>>): string {
  const folder = join(root, String(++count));
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, path)), { recursive: true });
    writeFileSync(join(folder, path), text);
  }
  return folder;
}

afterEach(() => {
  vi.unstubAllEnvs();
});

describe("what is missing", () => {
  const lock = (packages: object) => JSON.stringify({ packages });
  const missing = async (folder: string) =>
    (await launcher<{ whatIsMissing: (root: string) => string | undefined }>("ensure.mjs")).whatIsMissing(folder);
  const wanted = { "": { name: "x" }, "node_modules/a": { version: "1.0.0" }, "node_modules/b": { version: "2.0.0" } };

  it("is everything before the first install, and where an install was cut short", async () => {
    expect(await missing(project({ "package-lock.json": lock(wanted) }))).toBe("nothing is installed yet");
    const cut = project({ "package-lock.json": lock(wanted), "node_modules/a/package.json": "{}" });
    expect(await missing(cut)).toBe("nothing is installed yet");
  });

  it("is nothing where the versions of the lock file are there, whatever the files' times say", async () => {
    const { "": _, ...installed } = wanted;
    const folder = project({
      "package-lock.json": lock({ ...wanted, "node_modules/other-os": { version: "1.0.0", optional: true } }),
      "node_modules/.package-lock.json": lock(installed),
    });
    utimesSync(join(folder, "node_modules/.package-lock.json"), 1, 1);
    expect(await missing(folder)).toBeUndefined();
  });

  it("is a package that is absent or of another version", async () => {
    const folder = (installed: object) =>
      project({ "package-lock.json": lock(wanted), "node_modules/.package-lock.json": lock(installed) });
    expect(await missing(folder({ "node_modules/a": { version: "1.0.0" } }))).toBe("b 2.0.0 is missing");
    const other = { "node_modules/a": { version: "1.0.1" }, "node_modules/b": { version: "2.0.0" } };
    expect(await missing(folder(other))).toBe("a 1.0.0 is missing");
  });
});

describe("the lock of a build", () => {
  type WithBuildLock = <T>(work: () => Promise<T>, options: { lock: string; longestWait_ms?: number }) => Promise<T>;
  const withLock = async (folder: string, work: () => Promise<unknown>, longestWait_ms?: number) => {
    const { withBuildLock } = await launcher<{ withBuildLock: WithBuildLock }>("build-lock.mjs");
    return withBuildLock(work, { lock: join(folder, "lock"), ...(longestWait_ms !== undefined && { longestWait_ms }) });
  };
  const isThere = (folder: string) => existsSync(join(folder, "lock"));

  it("lets one in at a time and is gone afterwards, also after a build that failed", async () => {
    const folder = project({});
    mkdirSync(folder);
    const steps: string[] = [];
    const one = (name: string) => async (): Promise<void> => {
      steps.push(`${name} begins`);
      await new Promise((resume) => setTimeout(resume, 50));
      steps.push(`${name} ends`);
      if (name === "a") throw new Error("broken source");
    };
    const [a, b] = await Promise.allSettled([withLock(folder, one("a")), withLock(folder, one("b"))]);
    expect([a.status, b.status]).toEqual(["rejected", "fulfilled"]);
    expect(steps).toEqual(["a begins", "a ends", "b begins", "b ends"]);
    expect(isThere(folder)).toBe(false);
  });

  it("of a process that died, or has long been silent, is taken away", async () => {
    const dead = spawnSync(process.execPath, ["-e", ""]).pid;
    for (const [pid, age_s] of [
      [dead, 0],
      // This very process is alive, but the one that wrote the lock is not it.
      [process.ppid, 3600],
    ] as const) {
      const folder = project({ "lock/pid": String(pid) });
      const then = Date.now() / 1000 - age_s;
      utimesSync(join(folder, "lock/pid"), then, then);
      expect(await withLock(folder, async () => "built")).toBe("built");
      expect(isThere(folder)).toBe(false);
    }
  });

  it("ends the wait for a build that goes on with a message, and leaves that build its lock", async () => {
    const folder = project({ "lock/pid": String(process.ppid) });
    await expect(withLock(folder, async () => "built", 300)).rejects.toThrow(
      new RegExp(`the build of process ${process.ppid} did not finish in .*: end it, or delete`),
    );
    expect(isThere(folder)).toBe(true);
  });
});

describe("the arrows between rooms", () => {
  const uphill = async (files: Readonly<Record<string, string>>) =>
    (await launcher<{ findUphillImports: (root: string) => string[] }>("arrows.mjs")).findUphillImports(project(files));

  it("let each room import what it may", async () => {
    const good = {
      "core/model/frame.ts": 'import type { R } from "./result.ts";\nexport { inflate } from "fflate";',
      "core/plan/plan.ts": 'import { a } from "../model/frame.ts";',
      "electron/main/main.ts": 'import { a } from "../../core/plan/plan.ts";\nimport fs from "node:fs";',
      "renderer/app/app.tsx": 'import { a } from "../../core/plan/plan.ts";\nimport "pixi.js/unsafe-eval";',
      "renderer/host/client.ts": "new EventSource('x');",
    };
    expect(await uphill(good)).toEqual([]);
  });

  it.each([
    ["core/a/b.ts", 'import { x } from "../../electron/x.ts";'],
    ["core/a/b.ts", 'import type {\n  X,\n} from "../../renderer/x.ts";'],
    ["core/a/b.ts", 'export * from "node:fs";'],
    ["core/a/b.ts", 'import { useState } from "react";'],
    ["core/a/b.ts", 'const x = await import("pixi.js");'],
    ["core/a/b.ts", 'import h5 from "h5wasm/node";'],
    ["core/model/b.ts", 'import { x } from "../plan/plan.ts";'],
    ["renderer/a.ts", 'import { x } from "../electron/x.ts";'],
    ["renderer/a.ts", 'import "electron";'],
    ["renderer/a.ts", 'new Worker(new URL("../electron/x.ts", import.meta.url));'],
    ["renderer/a.ts", 'new EventSource("api/events");'],
    ["electron/a.ts", 'import { x } from "../renderer/x.ts";'],
    ["electron/a.ts", 'import { x } from "../tests/x.ts";'],
    ["electron/a.ts", 'import React from "react";'],
  ])("refuse in %s: %s", async (file, text) => {
    const wrong = await uphill({ [file]: text });
    expect(wrong).toHaveLength(1);
    expect(wrong[0]).toContain(file);
  });

  it("do not mind comments", async () => {
    expect(await uphill({ "core/a/b.ts": '// import "electron";\n/* import "react"; */' })).toEqual([]);
  });

  it("refuse folders of core that import each other in a circle", async () => {
    const wrong = await uphill({
      "core/a/x.ts": 'import { y } from "../b/y.ts";',
      "core/b/y.ts": 'import { z } from "../c/z.ts";',
      "core/c/z.ts": 'import { x } from "../a/x.ts";',
    });
    expect(wrong).toEqual(["folders of core import each other in a circle: a -> b -> c -> a"]);
  });
});

describe("the installed browser", () => {
  const find = async () => (await launcher<{ findChromium: () => string | undefined }>("chromium.mjs")).findChromium();
  function program(folder: string, name: string): string {
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, name), "");
    chmodSync(join(folder, name), 0o755);
    return join(folder, name);
  }

  it("is what the variable names, or the first on the path", async () => {
    const [one, two] = [join(root, "bin1"), join(root, "bin2")];
    vi.stubEnv("PATH", `${one}:${two}`);
    vi.stubEnv("CHROMIUM", "");
    expect(await find()).toBeUndefined();
    const chrome = program(two, "google-chrome");
    expect(await find()).toBe(chrome);
    const chromium = program(one, "chromium");
    expect(await find()).toBe(chromium);
    vi.stubEnv("CHROMIUM", "google-chrome");
    expect(await find()).toBe(chrome);
    vi.stubEnv("CHROMIUM", join(root, "absent"));
    expect(await find()).toBeUndefined();
    writeFileSync(join(one, "chromium"), "");
    chmodSync(join(one, "chromium"), 0o644);
    vi.stubEnv("CHROMIUM", "");
    expect(await find()).toBe(chrome);
  });
});

describe("a program with a time limit", () => {
  it("is ended with everything that it started", async () => {
    const { run } = await launcher<{
      run: (command: string, args: string[], options: { timeout_s: number }) => Promise<number>;
    }>("project.mjs");
    const marker = join(root, "survivor");
    const started = Date.now();
    const code = await run("sh", ["-c", `(sleep 3; touch '${marker}') & wait`], { timeout_s: 0.3 });
    expect(code).not.toBe(0);
    expect(Date.now() - started).toBeLessThan(2500);
    await new Promise((resume) => setTimeout(resume, 3500));
    expect(spawnSync("ls", [marker]).status).not.toBe(0);
  });
});

describe("Electron's program", () => {
  interface ElectronBinary {
    electronBinary(): string | undefined;
    fetchElectronOnce(): Promise<void>;
  }
  /** A project whose electron package fetches by running `install`. */
  async function withElectron(
    install: string,
  ): Promise<{ readonly folder: string; readonly electron: ElectronBinary }> {
    const folder = project({
      "node_modules/electron/package.json": '{"version": "1.2.3"}',
      // Requiring the package is what must not happen.
      "node_modules/electron/index.js": "throw new Error('required');",
      "node_modules/electron/install.js": `require("fs").appendFileSync("tries", "x"); ${install}`,
    });
    cpSync(LAUNCH, join(folder, "electron/launch"), { recursive: true });
    return { folder, electron: (await import(join(folder, "electron/launch/electron-binary.mjs"))) as ElectronBinary };
  }
  const tries = (folder: string) => readFileSync(join(folder, "tries"), "utf8").length;

  it("is fetched once, and found through the file that the download leaves", async () => {
    const { folder, electron } = await withElectron(
      'const fs = require("fs"); fs.mkdirSync(__dirname + "/dist"); fs.writeFileSync(__dirname + "/dist/electron", ""); fs.writeFileSync(__dirname + "/path.txt", "electron");',
    );
    expect(electron.electronBinary()).toBeUndefined();
    await electron.fetchElectronOnce();
    expect(electron.electronBinary()).toBe(join(folder, "node_modules/electron/dist/electron"));
    rmSync(join(folder, "node_modules/electron/dist"), { recursive: true });
    expect(electron.electronBinary()).toBeUndefined();
  });

  it("is not fetched a second time when the first failed, until another version is installed", async () => {
    const { folder, electron } = await withElectron("process.exit(1);");
    await electron.fetchElectronOnce();
    await electron.fetchElectronOnce();
    expect(tries(folder)).toBe(1);
    expect(electron.electronBinary()).toBeUndefined();
    writeFileSync(join(folder, "node_modules/electron/package.json"), '{"version": "1.2.4"}');
    await electron.fetchElectronOnce();
    expect(tries(folder)).toBe(2);
  });
});

describe("the digest of the sources", () => {
  it("changes with content, with a new file and with a file that goes", async () => {
    const { sourceDigest } = await launcher<{ sourceDigest: (sources: string[]) => string }>("source-stamp.mjs");
    const folder = project({ "a.ts": "1", "deep/b.ts": "2", "README.md": "3" });
    const first = sourceDigest([folder]);
    expect(sourceDigest([folder])).toBe(first);
    writeFileSync(join(folder, "README.md"), "changed");
    expect(sourceDigest([folder])).toBe(first);
    writeFileSync(join(folder, "deep", "c.ts"), "new");
    const second = sourceDigest([folder]);
    expect(second).not.toBe(first);
    rmSync(join(folder, "deep", "c.ts"));
    expect(sourceDigest([folder])).toBe(first);
    writeFileSync(join(folder, "a.ts"), "12");
    expect(sourceDigest([folder])).not.toBe(first);
  });
});
