import { VERSION } from "../services/version.ts";
import { COMMANDS } from "./commands.ts";
import { runCommandLine } from "./run-command.ts";

/** The command line on this process's streams. @returns the exit code */
export async function main(argv: readonly string[]): Promise<number> {
  const stopped = new AbortController();
  // The first Ctrl-C lets the command clean up; a second ends the process as usual.
  const stop = () => stopped.abort();
  process.once("SIGINT", stop);
  process.once("SIGTERM", stop);
  // A reader that has seen enough (`| head`) closes the pipe: that is no fault.
  process.stdout.on("error", (error: NodeJS.ErrnoException) => {
    if (error.code !== "EPIPE") throw error;
  });
  try {
    return await runCommandLine(argv, {
      commands: COMMANDS,
      version: VERSION,
      signal: stopped.signal,
      threadFile: new URL("batch-thread.js", import.meta.url),
      terminal: {
        out: (text) => void process.stdout.write(text),
        error: process.stderr,
        isDebugging: Boolean(process.env["HALATION_DEBUG"]),
      },
    });
  } finally {
    process.off("SIGINT", stop);
    process.off("SIGTERM", stop);
  }
}
