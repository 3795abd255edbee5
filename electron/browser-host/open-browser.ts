import { spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

/**
 * Without these a fresh profile greets its user, and the browser looks for updates and components. Software drawing is
 * asked for by name: without a GPU a window has no WebGL otherwise, and with one the flag costs speed, so it is
 * given only where no GPU device is to be seen.
 */
const QUIET = [
  "--no-first-run",
  "--no-default-browser-check",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--disable-quic",
  "--disable-features=Translate",
];

export interface OpenWindow {
  /** Resolves when the browser has ended and its profile is gone. */
  readonly closed: Promise<void>;
  close(): void;
}

export interface OpenBrowserOptions {
  readonly program: string;
  readonly address: string;
  readonly hasGpu: boolean;
  readonly isRoot: boolean;
}

export function browserArguments(options: OpenBrowserOptions, profile: string): readonly string[] {
  return [
    `--app=${options.address}`,
    `--user-data-dir=${profile}`,
    "--window-size=1440,900",
    ...QUIET,
    ...(options.hasGpu ? [] : ["--use-angle=swiftshader"]),
    // Chromium refuses to run its sandbox as root.
    ...(options.isRoot ? ["--no-sandbox"] : []),
  ];
}

/** Opens the address as a window of its own, with a profile that is removed afterwards. */
export async function openBrowser(options: OpenBrowserOptions): Promise<OpenWindow> {
  const profile = await mkdtemp(join(tmpdir(), "halation-window-"));
  const child = spawn(options.program, browserArguments(options, profile), { stdio: "ignore" });
  const closed = new Promise<void>((resolve) => {
    child.once("exit", () => resolve());
    child.once("error", () => resolve());
  }).then(() => rm(profile, { recursive: true, force: true, maxRetries: 10, retryDelay: 200 }));
  return { closed, close: () => void child.kill("SIGTERM") };
}
