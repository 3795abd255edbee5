import { join, resolve } from "node:path";
import { app, type BrowserWindow, protocol } from "electron";
import type { HostContract, HostEvents } from "../../core/host-contract.ts";
import { describeFault } from "../../core/model/result.ts";
import { launchFiles } from "../services/launch-files.ts";
import { createServices, type Services } from "../services/services.ts";
import type { Shell } from "../services/shell.ts";
import { electronShell } from "./electron-shell.ts";
import { guardContents } from "./guard-contents.ts";
import { namedFiles } from "./launch-arguments.ts";
import { setMenu } from "./menu.ts";
import { openWindow } from "./open-window.ts";
import { RecentFiles } from "./recent-files.ts";
import { serveCalls } from "./serve-calls.ts";
import { windowServer } from "./serve-window.ts";
import { SCHEME } from "./window-origin.ts";

// Built to dist/electron; the window stands beside it, the samples in the project.
const BUILT = import.meta.dirname;
const WINDOW_FOLDER = resolve(BUILT, "../renderer");
const SAMPLES = resolve(BUILT, "../../samples");
const isMac = process.platform === "darwin";

/** Files that the system hands over before the window can take them. */
const early: string[] = [];
let window: BrowserWindow | undefined;
let services: Services | undefined;
let shell: Shell | undefined;
let recent: RecentFiles | undefined;

function send<E extends keyof HostEvents>(event: E, detail: HostEvents[E]): void {
  window?.webContents.send(`halation:event:${event}`, detail);
}

async function openFiles(paths: readonly string[]): Promise<void> {
  if (services === undefined) {
    early.push(...paths);
    return;
  }
  const files = await services.grantFiles(paths);
  for (const path of paths) app.addRecentDocument(path);
  recent?.add(paths);
  if (files.length > 0) send("filesOpened", files);
  if (window?.isMinimized() === true) window.restore();
  window?.focus();
}

function endWith(error: unknown): void {
  process.stderr.write(`halation: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`);
  app.exit(1);
}

async function start(): Promise<void> {
  await app.whenReady();
  guardContents();
  const named = [...namedFiles(process.argv, process.cwd(), app.isPackaged), ...early];
  const launch = await launchFiles(named, SAMPLES);
  if (!launch.ok) {
    process.stderr.write(`halation: ${describeFault(launch.fault)}\n`);
    app.exit(2);
    return;
  }
  shell = electronShell(launch.value, (paths) => recent?.add(paths));
  services = await createServices(shell);
  services.sendEventsTo(send);
  protocol.handle(SCHEME, windowServer(WINDOW_FOLDER));
  serveCalls(oneWindow(services));
  recent = new RecentFiles(join(shell.userDataFolder, "recent-files.json"), showMenu);
  await recent.load();
  window = await openWindow(BUILT);
  window.on("closed", () => {
    window = undefined;
  });
}

/** There is one window: when its page asks for the session, the page before it is gone. */
function oneWindow({ host, windowGone }: Services): HostContract {
  let last: string | undefined;
  return {
    ...host,
    async loadSession(page) {
      if (last !== undefined && last !== page) await windowGone(last);
      last = page;
      return host.loadSession(page);
    },
  };
}

function showMenu(paths: readonly string[]): void {
  setMenu({
    isMac,
    recent: paths,
    pickFiles: () => {
      const picked = shell?.pickFiles?.("run") ?? Promise.resolve([]);
      picked.then(openFiles).catch(endWith);
    },
    openRecent: (path) => void openFiles([path]).catch(endWith),
    clearRecent: () => recent?.clear(),
  });
}

app.enableSandbox();
protocol.registerSchemesAsPrivileged([
  {
    scheme: SCHEME,
    privileges: { standard: true, secure: true, supportFetchAPI: true, stream: true, codeCache: true },
  },
]);
if (process.argv.includes("--software-gl")) app.commandLine.appendSwitch("use-angle", "swiftshader");
app.on("open-file", (event, path) => {
  event.preventDefault();
  openFiles([path]).catch(endWith);
});
app.on("second-instance", (_, argv, folder) => {
  openFiles(namedFiles(argv, folder, app.isPackaged)).catch(endWith);
});
app.on("window-all-closed", () => {
  const kept = Promise.all([services?.settled(), recent?.settled()]);
  kept.then(() => app.quit(), endWith);
});

if (app.requestSingleInstanceLock()) start().catch(endWith);
else app.quit();
