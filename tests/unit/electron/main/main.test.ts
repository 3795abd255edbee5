import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it, vi } from "vitest";
import { HOST_METHODS } from "../../../../core/host-contract.ts";
import { namedFiles } from "../../../../electron/main/launch-arguments.ts";
import { windowServer } from "../../../../electron/main/serve-window.ts";
import { isOurAddress } from "../../../../electron/main/window-origin.ts";
import { buildElectron, startElectronHost } from "../../../support/hosts/electron-host.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const places = { userData: join(root, "user-data"), documents: join(root, "documents") };
type Running = Awaited<ReturnType<typeof startElectronHost>>;
let running: Running;

beforeAll(async () => {
  writeFileSync(join(root, "run.bin"), "run");
  await buildElectron();
  running = await startElectronHost(places, [join(root, "run.bin")]);
}, 120_000);

describe("the desktop program as it is built", () => {
  it("opens one isolated, sandboxed window on its own scheme", () => {
    const { record } = running;
    expect(record.sandboxed).toBe(true);
    expect(record.privileges).toEqual([
      {
        scheme: "app",
        privileges: { standard: true, secure: true, supportFetchAPI: true, stream: true, codeCache: true },
      },
    ]);
    expect(record.loaded).toEqual(["app://halation/"]);
    expect(record.windowOptions).toHaveLength(1);
    expect(record.windowOptions[0]?.["webPreferences"]).toMatchObject({
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      webSecurity: true,
      webviewTag: false,
    });
    expect(record.windowOptions[0]?.["webPreferences"]).toHaveProperty(
      "preload",
      expect.stringMatching(/dist.electron.preload\.cjs$/),
    );
  });

  it("answers one channel a method, and exposes the contract and nothing else", () => {
    const { record, host } = running;
    expect([...record.calls.keys()].sort()).toEqual(HOST_METHODS.map((method) => `halation:${method}`).sort());
    expect([...record.exposed.keys()]).toEqual(["halation"]);
    expect(Object.keys(host).sort()).toEqual([...HOST_METHODS, "on"].sort());
  });

  it.each([
    ["a frame that is gone", null],
    ["a frame inside the page", { url: "app://halation/", parent: { url: "app://halation/" } }],
    ["another host of the scheme", { url: "app://elsewhere/", parent: null }],
    ["a web page", { url: "https://halation/", parent: null }],
    ["a page of a name that begins like ours", { url: "app://halation.example/", parent: null }],
    ["a file", { url: "file:///halation/index.html", parent: null }],
    ["no address", { url: "", parent: null }],
  ])("refuses a call from %s", async (_, frame) => {
    const { record, host } = running;
    const own = record.senderFrame;
    record.senderFrame = frame;
    try {
      await expect(host.info()).rejects.toThrow("calls are answered to the window alone");
      await expect(host.loadSession("window-1")).rejects.toThrow("calls are answered to the window alone");
    } finally {
      record.senderFrame = own;
    }
    expect((await host.info()).ok).toBe(true);
  });

  it("denies navigation, redirects, embedded pages, new windows and downloads", () => {
    const { record } = running;
    const [contents] = record.contents;
    for (const event of ["will-navigate", "will-redirect", "will-frame-navigate", "will-attach-webview"]) {
      const preventDefault = vi.fn();
      contents?.emit(event, { preventDefault }, "https://attacker.example/");
      expect(preventDefault, event).toHaveBeenCalledOnce();
    }
    expect(contents?.windowOpenHandler?.()).toEqual({ action: "deny" });
    const preventDefault = vi.fn();
    record.session.emit("will-download", { preventDefault });
    expect(preventDefault).toHaveBeenCalledOnce();
  });

  it("gives the page no permission but to write the clipboard and to show notices, and other pages none", () => {
    const { record } = running;
    const asks = (permission: string, requestingUrl = "app://halation/") => {
      const answer = vi.fn();
      record.permissionRequest?.({}, permission, answer, { requestingUrl });
      return answer.mock.calls[0]?.[0] as unknown;
    };
    for (const permission of ["media", "geolocation", "openExternal", "fileSystem", "clipboard-read"]) {
      expect(asks(permission), permission).toBe(false);
      expect(record.permissionCheck?.({}, permission, "app://halation/"), permission).toBe(false);
    }
    for (const permission of ["clipboard-sanitized-write", "notifications"]) {
      expect(asks(permission), permission).toBe(true);
      expect(record.permissionCheck?.({}, permission, "app://halation/"), permission).toBe(true);
      expect(asks(permission, "https://attacker.example/"), permission).toBe(false);
      expect(record.permissionCheck?.({}, permission, "https://attacker.example/"), permission).toBe(false);
    }
    expect(record.devicePermission?.()).toBe(false);
  });

  it("hides the event of a message from the page, and knows no other events", () => {
    const { host, electron } = running;
    const heard = vi.fn();
    const end = host.on("filesOpened", heard);
    electron.ipcRenderer.emit("halation:event:filesOpened", { sender: "secret" }, ["detail"]);
    expect(heard.mock.calls).toEqual([[["detail"]]]);
    end();
    electron.ipcRenderer.emit("halation:event:filesOpened", {}, []);
    expect(heard).toHaveBeenCalledOnce();
    const on = host.on as (name: string, listener: () => void) => void;
    expect(() => on("../other", () => {})).toThrow(TypeError);
  });

  it("loads the page anew when it ends, but not when it ends at once", () => {
    const { record } = running;
    const [contents] = record.contents;
    contents?.emit("render-process-gone", {}, { reason: "clean-exit" });
    expect(contents?.reloads).toBe(0);
    const now = vi.spyOn(Date, "now").mockReturnValue(Date.now() + 60_000);
    contents?.emit("render-process-gone", {}, { reason: "crashed" });
    expect(contents?.reloads).toBe(1);
    contents?.emit("render-process-gone", {}, { reason: "crashed" });
    expect(contents?.reloads).toBe(1);
    expect(record.exitCodes.splice(0)).toEqual([1]);
    now.mockRestore();
  });

  it("takes files that the system hands over, and remembers them as recent", async () => {
    const { electron, record, host } = running;
    const heard = vi.fn();
    const end = host.on("filesOpened", heard);
    const preventDefault = vi.fn();
    electron.app.emit("open-file", { preventDefault }, join(root, "run.bin"));
    await vi.waitFor(() => expect(heard).toHaveBeenCalledOnce());
    end();
    expect(preventDefault).toHaveBeenCalledOnce();
    expect(heard.mock.calls[0]?.[0]).toMatchObject([{ name: "run.bin", size: 3 }]);
    expect(record.recentDocuments).toContain(join(root, "run.bin"));
  });

  it("gives tokens for what the dialog picked, and an empty list when it was cancelled", async () => {
    const { record, host } = running;
    record.openDialog = { canceled: true, filePaths: [] };
    expect(await host.pickFiles("run")).toEqual({ ok: true, value: [] });
    record.openDialog = { canceled: false, filePaths: [join(root, "run.bin")] };
    expect(await host.pickFiles("run")).toMatchObject({ ok: true, value: [{ name: "run.bin" }] });
  });

  it("writes over an export only where the dialog gave its name, and nothing when it was cancelled", async () => {
    const { record, host } = running;
    mkdirSync(places.documents, { recursive: true });
    const target = join(places.documents, "curve.csv");
    writeFileSync(target, "old");
    const file = { path: "curve.csv", bytes: new Uint8Array([1, 2]) };
    record.saveDialog = { canceled: true, filePath: target };
    expect(await host.saveExport("curve.csv", [file])).toMatchObject({ ok: false, fault: { code: "cancelled" } });
    record.saveDialog = { canceled: false, filePath: target };
    expect(await host.saveExport("curve.csv", [file])).toEqual({ ok: true, value: { savedTo: target } });
  });

  it("ends with the code of an input at fault when a named file is not there", async () => {
    const write = vi.spyOn(process.stderr, "write").mockReturnValue(true);
    const { record } = await startElectronHost(places, [join(root, "absent.h5")]).catch(() => ({ record: undefined }));
    const said = write.mock.calls.map(([text]) => String(text)).join("");
    write.mockRestore();
    expect(said).toBe(`halation: cannot read ${join(root, "absent.h5")}: there is no such file\n`);
    expect(record?.loaded).toEqual([]);
    expect(record?.exitCodes).toEqual([2]);
  });
});

describe("the window's scheme", () => {
  it.each([
    ["app://halation/", true],
    ["app://halation/assets/main.js", true],
    // Chromium writes addresses in small letters; what does not look like that did not come from it.
    ["APP://HALATION/", false],
    ["app://halation@attacker.example/", false],
    ["app://halation:1/", false],
    ["apps://halation/", false],
    ["null", false],
  ])("%s is ours: %s", (address, ours) => {
    expect(isOurAddress(address)).toBe(ours);
  });

  it("serves the built window with isolation, and nothing beside it", async () => {
    const folder = join(root, "window");
    mkdirSync(join(folder, "assets"), { recursive: true });
    writeFileSync(join(folder, "index.html"), "<title>fixture</title>");
    writeFileSync(join(folder, "assets", "worker.js"), "");
    writeFileSync(join(root, "secret.txt"), "secret");
    const serve = windowServer(folder);
    const page = await serve(new Request("app://halation/"));
    expect(await page.text()).toBe("<title>fixture</title>");
    const worker = await serve(new Request("app://halation/assets/worker.js"));
    expect(worker.headers.get("content-type")).toBe("text/javascript; charset=utf-8");
    for (const { headers } of [page, worker]) {
      expect(headers.get("cross-origin-embedder-policy")).toBe("require-corp");
      expect(headers.get("cross-origin-opener-policy")).toBe("same-origin");
      expect(headers.get("content-security-policy")).toContain("default-src 'none'");
    }
    for (const path of [
      "..%2fsecret.txt",
      "%2e%2e/secret.txt",
      "..%5csecret.txt",
      "assets/..%2f..%2fsecret.txt",
      "%00",
    ])
      expect((await serve(new Request(`app://halation/${path}`))).status, path).toBeGreaterThanOrEqual(400);
    expect((await serve(new Request("app://elsewhere/"))).status).toBe(404);
    expect((await serve(new Request("app://halation/", { method: "POST" }))).status).toBe(405);
  });
});

describe("the files that a start names", () => {
  it("are those behind the mark, or the bare ones of a packaged program", () => {
    const development = ["electron", "--no-sandbox", ".", "--", "a.h5", "/data/b.h5"];
    expect(namedFiles(development, "/home/me", false)).toEqual(["/home/me/a.h5", "/data/b.h5"]);
    expect(namedFiles(["electron", "."], "/home/me", false)).toEqual([]);
    expect(namedFiles(["halation", "--type=x", "a.h5"], "/home/me", true)).toEqual(["/home/me/a.h5"]);
  });
});
