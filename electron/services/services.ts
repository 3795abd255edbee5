import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import type { FileToken, HostContract, HostFile } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { saveExport } from "./export.ts";
import { FileTokens } from "./file-tokens.ts";
import { FolderWatches } from "./folder-watches.ts";
import { looksLikePlan } from "./looks-like-plan.ts";
import { readRange } from "./read-range.ts";
import type { SendEvent, Shell } from "./shell.ts";
import { WindowSessions } from "./window-sessions.ts";

export interface Services {
  readonly host: HostContract;
  /** Where events go from now on; before, nobody hears them. */
  sendEventsTo(send: SendEvent): void;
  /** Tokens for files that the person opened outside the window. Those that can't be read are left out. */
  grantFiles(paths: readonly string[]): Promise<readonly HostFile[]>;
  /** A window is closed, or its page was left: its session is free for the next. */
  windowGone(window: string): Promise<void>;
  /** Ends the watches; resolves when all that should be kept is on the disk. */
  settled(): Promise<void>;
}

/** The host contract over the file system, with dialogs and places from `shell`. Both hosts are made of this. */
export async function createServices(shell: Shell): Promise<Services> {
  await mkdir(shell.userDataFolder, { recursive: true, mode: 0o700 });
  const tokens = new FileTokens(join(shell.userDataFolder, "open-files.json"), shell.startFolder);
  await tokens.restore();
  const sessions = new WindowSessions(shell.userDataFolder);

  let send: SendEvent = () => {};
  const watches = new FolderWatches({ shell, tokens, send: (event, detail) => send(event, detail) });

  const grantAll = async (paths: readonly string[]): Promise<Result<readonly HostFile[]>> => {
    const files: HostFile[] = [];
    for (const path of paths) {
      const granted = await tokens.grant(path);
      if (!granted.ok) return granted;
      files.push(granted.value);
    }
    return success(files);
  };

  const host: HostContract = {
    info: () => Promise.resolve(success(shell.info)),
    async launchRequest() {
      const granted = await grantAll(shell.launch.files);
      if (!granted.ok) return granted;
      const files = granted.value;
      let plan: FileToken | undefined;
      for (const [index, path] of shell.launch.files.entries()) {
        plan ??= (await looksLikePlan(path)) ? files[index]?.token : undefined;
      }
      const { isSampleExperiment } = shell.launch;
      return success(plan === undefined ? { files, isSampleExperiment } : { files, plan, isSampleExperiment });
    },
    async pickFiles(kind) {
      if (shell.pickFiles === undefined)
        return failure("unsupported", "this host has no file dialog: drop the file on the window instead");
      return grantAll(await shell.pickFiles(kind));
    },
    resolveBeside: (file, relativePath) => tokens.grantBeside(file, relativePath),
    async readBytes(file, start, end) {
      const path = tokens.pathOf(file);
      return path.ok ? readRange(path.value, start, end, path.value) : path;
    },
    saveExport: (suggestedName, files) => saveExport(shell, suggestedName, files),
    watchFolder: (folder) => watches.start(folder),
    lastWatch: () => watches.last(),
    resumeWatch: () => watches.resume(),
    noteFrame: (watch, name, note) => watches.note(watch, name, note),
    stopWatching: (watch) => watches.stop(watch),
    async loadSession(window) {
      // The session may be of another process, with tokens that were given there.
      await tokens.restore();
      return sessions.load(window);
    },
    saveSession: (window, json) => sessions.save(window, json),
  };

  return {
    host,
    sendEventsTo(target) {
      send = target;
    },
    async grantFiles(paths) {
      const granted = await Promise.all(paths.map((path) => tokens.grant(path)));
      return granted.flatMap((one) => (one.ok ? [one.value] : []));
    },
    windowGone: (window) => sessions.release(window),
    async settled() {
      await watches.stopAll();
      await sessions.releaseAll();
      await tokens.saved();
    },
  };
}
