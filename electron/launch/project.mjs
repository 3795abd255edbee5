// What every launcher needs: where the project is, how to say something, how to run a tool. No dependencies, since
// these scripts run before anything is installed.
import { spawn } from "node:child_process";
import { resolve } from "node:path";
import { fileURLToPath } from "node:url";

export const ROOT = fileURLToPath(new URL("../..", import.meta.url));

export function inProject(...parts) {
  return resolve(ROOT, ...parts);
}

/** One line for the person. Standard output belongs to the command that was asked for, so notes go to standard error. */
export function note(text) {
  process.stderr.write(`halation: ${text}\n`);
}

/**
 * Runs a program to its end and returns its exit code; 1 where it can't be started or was ended by a signal.
 *
 * @param {string} command
 * @param {readonly string[]} args
 * @param {{ stdout?: "inherit" | "stderr", env?: Record<string, string>, timeout_s?: number, shell?: boolean }} options
 *   `timeout_s`: it and everything that it started are ended after this many seconds
 */
export function run(command, args, { stdout = "inherit", env = {}, timeout_s, shell = false } = {}) {
  const limited = timeout_s !== undefined;
  const child = spawn(command, args, {
    cwd: ROOT,
    env: { ...process.env, ...env },
    stdio: ["ignore", stdout === "stderr" ? 2 : "inherit", "inherit"],
    // A group of its own, so that a time-out ends the children of the child too.
    detached: limited && process.platform !== "win32",
    shell,
  });
  return new Promise((done) => {
    const end = () => {
      try {
        if (process.platform === "win32") child.kill();
        else process.kill(-child.pid, "SIGKILL");
      } catch {
        // It ended by itself in the meantime.
      }
    };
    const timer = limited ? setTimeout(end, timeout_s * 1000) : undefined;
    if (limited) process.once("exit", end);
    child.on("error", (error) => {
      clearTimeout(timer);
      note(`cannot run ${command}: ${error.message}`);
      done(1);
    });
    child.on("exit", (code) => {
      clearTimeout(timer);
      if (limited) process.off("exit", end);
      done(code ?? 1);
    });
  });
}

/** Runs a JavaScript tool of node_modules with this Node. */
export function runTool(script, args, options) {
  return run(process.execPath, [inProject("node_modules", script), ...args], options);
}
