import { existsSync } from "node:fs";
import { join, resolve } from "node:path";
import { describeFault } from "../../core/model/result.ts";
import { launchFiles } from "../services/launch-files.ts";
import { createServices } from "../services/services.ts";
import { VERSION } from "../services/version.ts";
import { openBrowser } from "./open-browser.ts";
import { startBrowserHost } from "./server.ts";
import { userDataFolder } from "./user-data-folder.ts";

/** A reload closes the window's stream for a moment; this long without one, and the window is closed. */
const IDLE_MS = 10_000;

export interface BrowserHostRequest {
  /** Files to open; none: the sample experiment. */
  readonly files: readonly string[];
  /** Folder of the sample experiment. */
  readonly samples: string;
  /** Where exports go; absent: "halation-exports" beside the start folder. */
  readonly exportsFolder?: string | undefined;
  /** The browser that shows the window; absent: the address is printed, and the host serves until it is stopped. */
  readonly browser?: string | undefined;
}

/**
 * Runs the local browser host until its window is closed or the program is stopped. Built to dist/cli, beside the built
 * window in dist/renderer.
 *
 * @returns the exit code
 */
export async function runBrowserHost(request: BrowserHostRequest): Promise<number> {
  const say = (text: string) => process.stderr.write(`halation: ${text}\n`);
  const startFolder = process.cwd();
  const launch = await launchFiles(request.files, request.samples);
  if (!launch.ok) {
    say(describeFault(launch.fault));
    return 2;
  }
  const exports = resolve(request.exportsFolder ?? join(startFolder, "halation-exports"));
  const services = await createServices({
    info: { kind: "browser", version: VERSION, platform: process.platform },
    userDataFolder: userDataFolder(),
    startFolder,
    launch: launch.value,
    pickExportPlace: async (name, kind) => ({
      path: kind === "file" ? join(exports, name) : exports,
      mayReplace: false,
    }),
  });

  let stop: () => void = () => {};
  const stopped = new Promise<void>((resolveStop) => {
    stop = resolveStop;
  });
  let windows = 0;
  let isOurWindow = request.browser !== undefined;
  const server = await startBrowserHost({
    host: services.host,
    windowFolder: resolve(import.meta.dirname, "../renderer"),
    idle_ms: IDLE_MS,
    // Where the person opened the window, the person ends the host: a reload may come much later.
    onIdle: () => isOurWindow && stop(),
    onSessionOpened() {
      windows++;
      if (!isOurWindow) printAddress("for one more window");
    },
    onWindowGone: (window) => void services.windowGone(window),
    onError: (error) => say(error instanceof Error ? (error.stack ?? error.message) : String(error)),
  });
  services.sendEventsTo(server.send);
  // The address is what the command was asked for, where no window opens: it goes to standard output.
  const printAddress = (what: string) => process.stdout.write(`${what}: ${server.oneTimeAddress()}\n`);

  process.once("SIGINT", stop);
  process.once("SIGTERM", stop);
  if (request.browser !== undefined) {
    const window = await openBrowser({
      program: request.browser,
      address: server.oneTimeAddress(),
      hasGpu: process.platform !== "linux" || existsSync("/dev/dri"),
      isRoot: process.getuid?.() === 0,
    });
    say(`opening the window; closing it ends the program (exports go to ${exports})`);
    const ended = await Promise.race([stopped.then(() => "stopped"), window.closed.then(() => "closed")]);
    window.close();
    await window.closed;
    if (ended === "closed" && windows === 0) {
      say(`${request.browser} ended before it showed the window`);
      isOurWindow = false;
    }
  }
  if (!isOurWindow) {
    say("open this address in a browser on this computer; Ctrl-C ends the program");
    say(`from another computer, forward the same port first: ssh -L ${server.port}:127.0.0.1:${server.port} ...`);
    printAddress("open");
    await stopped;
  }
  process.off("SIGINT", stop);
  process.off("SIGTERM", stop);
  await services.settled();
  await server.close();
  return 0;
}
