import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const ROOT = resolve(import.meta.dirname, "../../..");
/** Building the window may come first. */
const START_MS = 180_000;

export interface WindowHost {
  /** Opens one window; each needs one of its own. */
  readonly address: string;
  /** What the window exports lands here. */
  readonly exports: string;
  /** What an account keeps: session and tokens. */
  readonly data: string;
  stop(): Promise<void>;
}

/** Starts the program as a person does where no window can be opened, and takes the address that it prints. */
export async function startWindowHost(
  files: readonly string[],
  data?: string,
  startFolder: string = ROOT,
): Promise<WindowHost> {
  const folder = await mkdtemp(join(tmpdir(), "halation-e2e-"));
  const own = data ?? join(folder, "data");
  const exports = join(folder, "exports");
  const program = join(ROOT, "electron/launch/start.mjs");
  const child = spawn(process.execPath, [program, "--no-open", "--exports", exports, ...files], {
    cwd: startFolder,
    env: { ...process.env, HALATION_DATA: own },
    stdio: ["ignore", "pipe", "pipe"],
  });
  const address = await addressOf(child);
  return {
    address,
    exports,
    data: own,
    stop: async () => {
      const ended = new Promise((done) => child.once("exit", done));
      child.kill("SIGTERM");
      await ended;
      await rm(folder, { recursive: true, force: true });
    },
  };
}

function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((found, failed) => {
    let said = "";
    const timer = setTimeout(() => {
      child.kill();
      failed(new Error(`no address within ${START_MS} ms: ${said}`));
    }, START_MS);
    const hear = (text: string) => {
      said += text;
      const address = /http:\/\/127\.0\.0\.1:\S+/.exec(said)?.[0];
      if (address === undefined) return;
      clearTimeout(timer);
      found(address);
    };
    child.stdout?.setEncoding("utf8").on("data", hear);
    child.stderr?.setEncoding("utf8").on("data", (text: string) => {
      said += text;
    });
    child.once("exit", (code) => failed(new Error(`the program ended with ${code}: ${said}`)));
  });
}
