import { COMMANDS } from "../../electron/cli/commands.ts";
import { runCommandLine } from "../../electron/cli/run-command.ts";

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly error: string;
  /** Standard output as JSON. */
  json(): Readonly<Record<string, unknown>>;
}

/** Runs the command line in this process, as a terminal or a pipe would see it. */
export async function halation(
  argv: readonly string[],
  { isTTY = false, signal = new AbortController().signal } = {},
): Promise<Ran> {
  let out = "";
  let error = "";
  const code = await runCommandLine(argv, {
    commands: COMMANDS,
    version: "0.0.0",
    signal,
    terminal: {
      out(text) {
        out += text;
      },
      error: {
        isTTY,
        columns: 80,
        write(text) {
          error += text;
        },
      },
      isDebugging: false,
    },
  });
  return { code, out, error, json: () => JSON.parse(out) as Readonly<Record<string, unknown>> };
}
