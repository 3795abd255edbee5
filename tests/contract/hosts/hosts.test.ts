import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import {
  type FileToken,
  type FolderWatch,
  HOST_METHODS,
  type HostEvents,
  type HostFile,
  type WindowHost,
} from "../../../core/host-contract.ts";
import type { Result } from "../../../core/model/result.ts";
import { npyBytes } from "../../../core/report/npy.ts";
import { startBrowserHost } from "../../../electron/browser-host/server.ts";
import { launchFiles } from "../../../electron/services/launch-files.ts";
import { createServices } from "../../../electron/services/services.ts";
import { openPage } from "../../support/hosts/browser-page.ts";
import { buildElectron, startElectronHost } from "../../support/hosts/electron-host.ts";
import { temporaryFolder } from "../../support/temporary-folder.ts";

interface Places {
  readonly userData: string;
  /** Where the person sends exports. */
  readonly exports: string;
}

interface RunningHost {
  readonly host: WindowHost;
  readonly kind: "electron" | "browser";
  /** The system hands files to the running program. */
  openFromOutside(paths: readonly string[]): void;
  /** The person says which folder to watch, in the way of this host. */
  watch(folder: string): Promise<Result<FolderWatch>>;
  /** The page is left, and loaded again as a window of this id. */
  loadAgain(window: string): Promise<WindowHost>;
  close(): Promise<void>;
}

const HOSTS: readonly {
  readonly name: string;
  start(places: Places, files: readonly string[]): Promise<RunningHost>;
}[] = [
  {
    name: "the local browser host",
    async start({ userData, exports }, files) {
      const launch = await launchFiles(files, "");
      if (!launch.ok) throw new Error(launch.fault.message);
      const services = await createServices({
        info: { kind: "browser", version: "0", platform: process.platform },
        userDataFolder: userData,
        startFolder: dirname(userData),
        pollMs: 50,
        launch: launch.value,
        pickExportPlace: async (name, kind) => ({
          path: kind === "file" ? join(exports, name) : exports,
          mayReplace: false,
        }),
      });
      const errors: unknown[] = [];
      const server = await startBrowserHost({
        host: services.host,
        windowFolder: userData,
        idle_ms: 60_000,
        onIdle: () => {},
        onWindowGone: (window) => void services.windowGone(window),
        onError: (error) => errors.push(error),
      });
      services.sendEventsTo(server.send);
      let page = await openPage(server.oneTimeAddress());
      return {
        host: page.host,
        kind: "browser",
        openFromOutside(paths) {
          void services.grantFiles(paths).then((granted) => server.send("filesOpened", granted));
        },
        watch: (folder) => page.host.watchFolder(relative(dirname(userData), folder)),
        async loadAgain(window) {
          page.close();
          page = await openPage(server.oneTimeAddress(), window);
          // The server hears of the closed stream as the next page loads.
          await new Promise((resume) => setTimeout(resume, 200));
          return page.host;
        },
        async close() {
          page.close();
          await server.close();
          await services.settled();
          expect(errors).toEqual([]);
        },
      };
    },
  },
  {
    name: "the desktop program",
    async start({ userData, exports }, files) {
      const { host, electron, record } = await startElectronHost({ userData, documents: exports }, files);
      record.openDialog = { canceled: false, filePaths: [exports] };
      record.saveDialog = { canceled: false, filePath: join(exports, "radial.csv") };
      return {
        host,
        kind: "electron",
        openFromOutside(paths) {
          electron.app.emit("second-instance", {}, ["electron", ".", "--", ...paths], "/");
        },
        watch(folder) {
          const { openDialog } = record;
          record.openDialog = { canceled: false, filePaths: [folder] };
          const watched = host.watchFolder(undefined);
          return watched.finally(() => {
            record.openDialog = openDialog;
          });
        },
        loadAgain: async () => host,
        async close() {
          electron.app.emit("window-all-closed");
        },
      };
    },
  },
];

beforeAll(() => buildElectron(), 120_000);

function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

describe.each(HOSTS)("$name", ({ start }) => {
  const root = temporaryFolder();
  const data = join(root, "data");
  const places = { userData: join(root, "user-data"), exports: join(root, "exports") };
  const pattern = Uint8Array.from({ length: 300_000 }, (_, i) => (i * 7 + (i >> 8)) & 255);
  let running: RunningHost;
  let host: WindowHost;
  let plan: HostFile;
  let run: HostFile;

  beforeAll(async () => {
    mkdirSync(join(data, "runs"), { recursive: true });
    mkdirSync(places.userData);
    mkdirSync(places.exports);
    writeFileSync(join(data, "run.bin"), pattern);
    writeFileSync(join(data, "plan.json"), '{"planVersion": 1, "runs": {"sample": "runs/sample.bin"}}');
    writeFileSync(join(data, "runs", "sample.bin"), "sample");
    writeFileSync(join(root, "outside.txt"), "outside");
    running = await start(places, [join(data, "run.bin"), join(data, "plan.json")]);
    host = running.host;
    const launch = value(await host.launchRequest());
    [run, plan] = launch.files as [HostFile, HostFile];
  });
  afterAll(() => running.close());

  it("has every method of the contract, and says what it is", async () => {
    for (const method of HOST_METHODS) expect(host[method]).toBeTypeOf("function");
    expect(value(await host.info())).toMatchObject({ kind: running.kind, platform: process.platform });
  });

  it("tells what it was started with, the plan among it", async () => {
    const launch = value(await host.launchRequest());
    expect(launch.files.map(({ name, size }) => [name, size])).toEqual([
      ["run.bin", 300_000],
      ["plan.json", 57],
    ]);
    expect(launch.plan).toBe(plan.token);
    expect(launch.isSampleExperiment).toBe(false);
  });

  it("reads any range of a file, and less only where the file ends", async () => {
    const read = async (a: number, b: number) => value(await host.readBytes(run.token, a, b));
    // Compared as bytes: the matcher looks at 300 000 properties for seconds.
    expect(Buffer.compare(await read(0, 300_000), pattern)).toBe(0);
    expect(await read(1234, 1301)).toStrictEqual(pattern.slice(1234, 1301));
    expect(await read(299_990, 400_000)).toStrictEqual(pattern.slice(299_990));
    expect(await read(500_000, 500_010)).toStrictEqual(new Uint8Array(0));
    expect(await read(5, 5)).toStrictEqual(new Uint8Array(0));
    expect((await read(100, 200)).buffer).toBeInstanceOf(ArrayBuffer);
  });

  it("finds a file beside the plan, and none outside its folder", async () => {
    const beside = value(await host.resolveBeside(plan.token, "runs/sample.bin"));
    expect(beside).toMatchObject({ name: "sample.bin", size: 6 });
    expect(new TextDecoder().decode(value(await host.readBytes(beside.token, 0, 100)))).toBe("sample");
    expect(await host.resolveBeside(plan.token, "../outside.txt")).toMatchObject({
      ok: false,
      fault: { code: "unsupported" },
    });
    expect(await host.resolveBeside(plan.token, "absent.bin")).toMatchObject({ ok: false, fault: { code: "missing" } });
  });

  it("answers a token that it never gave with a fault", async () => {
    const madeUp = "AAAAAAAAAAAAAAAAAAAAAAAA" as FileToken;
    expect(await host.readBytes(madeUp, 0, 10)).toMatchObject({ ok: false, fault: { code: "missing" } });
    expect(await host.resolveBeside(madeUp, "plan.json")).toMatchObject({ ok: false, fault: { code: "missing" } });
  });

  it.each([
    ["a range that runs backwards", "readBytes", ["token", 10, 5]],
    ["a range that is no number", "readBytes", ["token", Number.NaN, 5]],
    ["a path for a token", "readBytes", ["/etc/passwd", 0, 5]],
    ["a range too long to hold", "readBytes", ["token", 0, 2 ** 40]],
    ["an argument too many", "info", ["more"]],
    ["a kind that isn't one", "pickFiles", ["folder"]],
    ["an export without bytes", "saveExport", ["name", [{ path: "a.csv", bytes: "text" }]]],
    ["a folder to watch that is no text", "watchFolder", [7]],
    ["a folder with NUL in it", "watchFolder", ["a\0b"]],
    ["a path for a watch", "stopWatching", ["../data"]],
    ["a note that is no text", "noteFrame", ["watch", "a.npy", { verdict: "covered" }]],
    ["a note that fills the disk", "noteFrame", ["watch", "a.npy", "x".repeat(100_000)]],
    ["a folder to go on with", "resumeWatch", ["/etc"]],
    ["a session that is no text", "saveSession", ["window-1", { json: true }]],
    ["a path for a window", "loadSession", ["../session"]],
    ["a session of no window", "saveSession", ["{}"]],
    ["a path with NUL in it", "resolveBeside", ["token", "a\0b"]],
  ] as const)("refuses %s as the window's bug", async (_, method, args) => {
    const call = host[method] as (...args: readonly unknown[]) => Promise<unknown>;
    await expect(call(...args)).rejects.toThrow(TypeError);
  });

  it("saves one file whole, under the name that was picked", async () => {
    const bytes = new TextEncoder().encode("Q,I\n0.01,2\n");
    const { savedTo } = value(await host.saveExport("radial.csv", [{ path: "radial.csv", bytes }]));
    expect(savedTo).toBe(join(places.exports, "radial.csv"));
    expect(readFileSync(savedTo, "utf8")).toBe("Q,I\n0.01,2\n");
  });

  it("saves several files into a folder of their own, and never into one that is there", async () => {
    const bytes = new Uint8Array([1, 2, 3]);
    const files = [
      { path: "summary.json", bytes },
      { path: "maps/q.npy", bytes },
    ];
    const first = value(await host.saveExport("result", files)).savedTo;
    const second = value(await host.saveExport("result", files)).savedTo;
    expect(first).toBe(join(places.exports, "result"));
    expect(second).toBe(join(places.exports, "result-2"));
    for (const folder of [first, second]) {
      expect(readdirSync(folder, { recursive: true }).sort()).toEqual(["maps", join("maps", "q.npy"), "summary.json"]);
      expect(new Uint8Array(readFileSync(join(folder, "maps/q.npy")))).toEqual(bytes);
    }
  });

  it.each(["../escape.csv", "/tmp/escape.csv", "a/../../escape.csv", "a\\b.csv", "nul", ""])(
    "refuses %j as the name of an exported file, and writes nothing",
    async (path) => {
      const before = readdirSync(root, { recursive: true }).length;
      const bytes = new Uint8Array([1]);
      const answer = await host.saveExport("escape", [
        { path: "good.csv", bytes },
        { path, bytes },
      ]);
      expect(answer).toMatchObject({ ok: false, fault: { code: "unsupported" } });
      expect(await host.saveExport("../escape", [{ path: "good.csv", bytes }])).toMatchObject({ ok: false });
      expect(readdirSync(root, { recursive: true })).toHaveLength(before);
      expect(existsSync("/tmp/escape.csv")).toBe(false);
    },
  );

  it("keeps the session", async () => {
    expect(value(await host.loadSession("window-1"))).toEqual({ json: undefined, isBesideAnother: false });
    const session = JSON.stringify({ title: "Å and \u2028", odd: "\0" });
    expect(await host.saveSession("window-1", session)).toEqual({ ok: true, value: undefined });
    expect(value(await host.loadSession("window-1")).json).toBe(session);
  });

  it("gives the session of a page that was left to the next, whatever the page says last", async () => {
    value(await host.loadSession("window-1"));
    value(await host.saveSession("window-1", "mine"));
    const next = await running.loadAgain("window-2");
    host = next;
    expect(value(await next.loadSession("window-2"))).toEqual({ json: "mine", isBesideAnother: false });
    value(await next.saveSession("window-2", "theirs"));
    value(await next.saveSession("window-1", "a last word"));
    expect(value(await next.loadSession("window-2")).json).toBe("theirs");
  });

  it("tells the window of files that are opened from outside", async () => {
    const heard = new Promise<readonly HostFile[]>((resolve) => {
      const end = host.on("filesOpened", (files) => {
        end();
        resolve(files);
      });
    });
    // The stream of the browser host may still be opening.
    await new Promise((resume) => setTimeout(resume, 200));
    running.openFromOutside([join(root, "outside.txt"), join(root, "absent.txt")]);
    const files = await heard;
    expect(files.map(({ name }) => name)).toEqual(["outside.txt"]);
    expect(new TextDecoder().decode(value(await host.readBytes(files[0]!.token, 0, 100)))).toBe("outside");
  });

  it("tells of each frame of a watched folder once it is whole, and of none after the watch is stopped", async () => {
    const runs = join(root, "watched");
    mkdirSync(runs);
    const frame = (count: number) => npyBytes(new Uint16Array(64).fill(count), { width: 8, height: 8 });
    writeFileSync(join(runs, "1.npy"), frame(1));
    // Half a frame: it is not told before the rest is there.
    writeFileSync(join(runs, "2.npy"), frame(2).subarray(0, 150));
    const heard: HostEvents["frameArrived"][] = [];
    const end = host.on("frameArrived", (detail) => heard.push(detail));
    const watch = value(await running.watch(runs));
    expect(watch.label).toContain("watched");
    const reach = (count: number) =>
      vi.waitFor(() => expect(heard).toHaveLength(count), { timeout: 20_000, interval: 50 });
    await reach(1);
    writeFileSync(join(runs, "2.npy"), frame(2));
    await reach(2);
    writeFileSync(join(runs, "1.npy"), frame(3));
    await reach(3);
    expect(heard.map(({ file, isReplacement }) => [file.name, isReplacement])).toEqual([
      ["1.npy", false],
      ["2.npy", false],
      ["1.npy", true],
    ]);
    expect(heard.every((detail) => detail.watch === watch.id)).toBe(true);
    const bytes = value(await host.readBytes(heard[2]!.file.token, 0, 1000));
    expect(Buffer.compare(bytes, frame(3))).toBe(0);
    expect(value(await host.stopWatching(watch.id))).toBeUndefined();
    writeFileSync(join(runs, "3.npy"), frame(4));
    await new Promise((resume) => setTimeout(resume, 500));
    expect(heard).toHaveLength(3);
    expect(await host.stopWatching(watch.id)).toMatchObject({ ok: true });
    end();
  }, 60_000);

  it("goes on with the last watch: what was noted comes back, what was not is told again", async () => {
    const runs = join(root, "resumed");
    mkdirSync(runs);
    const frame = (count: number) => npyBytes(new Uint16Array(64).fill(count), { width: 8, height: 8 });
    const reach = (count: number) =>
      vi.waitFor(() => expect(heard).toHaveLength(count), { timeout: 20_000, interval: 50 });
    for (const name of ["a.npy", "b.npy", "c.npy"]) writeFileSync(join(runs, name), frame(name.charCodeAt(0)));
    const heard: string[] = [];
    const forget = host.on("frameArrived", ({ file }) => heard.push(file.name));
    const first = value(await running.watch(runs));
    expect(first.earlier).toEqual([]);
    await reach(3);
    for (const name of ["a.npy", "b.npy"]) value(await host.noteFrame(first.id, name, `note of ${name}`));
    value(await host.noteFrame(first.id, "../elsewhere", "a name that was never told"));
    value(await host.stopWatching(first.id));
    heard.length = 0;
    expect(value(await host.lastWatch())).toMatchObject({ label: first.label, frames: 2 });
    writeFileSync(join(runs, "d.npy"), frame(7));
    const second = value(await host.resumeWatch());
    expect(second.earlier).toEqual(["note of a.npy", "note of b.npy"]);
    await reach(2);
    expect(heard).toEqual(["c.npy", "d.npy"]);
    value(await host.stopWatching(second.id));
    forget();
    const third = value(await running.watch(runs));
    expect(third.earlier).toEqual([]);
    value(await host.stopWatching(third.id));
  }, 60_000);

  it.each(["..", "../..", "/etc", "../watched-elsewhere"])(
    "watches no folder outside its start folder: %s",
    async (folder) => {
      expect(await host.watchFolder(folder)).toMatchObject({ ok: false, fault: { code: "unsupported" } });
    },
  );
});
