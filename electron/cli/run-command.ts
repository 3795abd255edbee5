import { describeFault, type Fault, failure, type Result } from "../../core/model/result.ts";
import type { Command, CommandResult } from "./command.ts";
import { commandHelp, programHelp } from "./help.ts";
import { didYouMean } from "./nearest.ts";
import { parseArguments } from "./parse-arguments.ts";
import { progressBar } from "./progress-bar.ts";

export const EXIT = { done: 0, ours: 1, input: 2, partly: 3, interrupted: 130 } as const;

/** Where a command writes; the process's own streams, or a test's. */
export interface Terminal {
  /** Standard output: the command's result and nothing else. */
  readonly out: (text: string) => void;
  readonly error: { readonly isTTY?: boolean; readonly columns?: number; write(text: string): unknown };
  /** Our own faults with their stack. */
  readonly isDebugging: boolean;
}

export interface CommandLine {
  readonly commands: readonly Command[];
  readonly version: string;
  readonly terminal: Terminal;
  readonly signal: AbortSignal;
  readonly threadFile?: URL;
}

/** Runs `argv` (without the program's name). @returns the exit code; never throws */
export async function runCommandLine(argv: readonly string[], line: CommandLine): Promise<number> {
  const { commands, terminal, version } = line;
  const [name, ...rest] = argv;
  const say = (text: string) => terminal.error.write(`${text}\n`);
  const isJson = argv.includes("--json");
  if (name === undefined || name === "--help" || name === "-h" || name === "help") {
    terminal.out(programHelp(commands, version));
    return EXIT.done;
  }
  if (name === "--version") {
    terminal.out(isJson ? `${JSON.stringify({ version })}\n` : `${version}\n`);
    return EXIT.done;
  }
  const command = commands.find((one) => one.name === name);
  if (command === undefined) {
    const near = didYouMean(
      name,
      commands.map((one) => one.name),
    );
    const message = `there is no command "${name}"${near} (see halation --help)`;
    return tellFault({ code: "unsupported", message, field: name });
  }

  const bar = progressBar(terminal.error);
  try {
    const given = parseArguments(command, rest);
    if (!given.ok) return tellFault(given.fault);
    if (given.value.flags.has("help")) {
      terminal.out(commandHelp(command));
      return EXIT.done;
    }
    const result = await cancellable(
      () =>
        command.run({
          given: given.value,
          signal: line.signal,
          threadFile: line.threadFile,
          onProgress: bar.show,
          print: (text) => {
            bar.clear();
            terminal.out(`${text}\n`);
          },
          note: (text) => {
            bar.clear();
            say(text);
          },
        }),
      line.signal,
    );
    bar.clear();
    if (!result.ok) return tellFault(result.fault);
    const { json, text, failed = [] } = result.value;
    if (!isJson) terminal.out(`${text}\n`);
    else if (json !== undefined) terminal.out(`${JSON.stringify(json, null, 2)}\n`);
    for (const fault of failed) say(`halation: ${oneLine(describeFault(fault))}`);
    return failed.length > 0 ? EXIT.partly : EXIT.done;
  } catch (error) {
    bar.clear();
    return tellBug(error);
  }

  function tellFault(fault: Fault): number {
    if (fault.code === "cancelled") {
      say("halation: stopped; nothing half done was left behind");
      return EXIT.interrupted;
    }
    if (isJson) terminal.out(`${JSON.stringify({ error: fault }, null, 2)}\n`);
    say(`halation: ${oneLine(describeFault(fault))}`);
    return EXIT.input;
  }

  function tellBug(error: unknown): number {
    const message = error instanceof Error ? error.message : String(error);
    if (isJson) terminal.out(`${JSON.stringify({ error: { code: "internal", message } }, null, 2)}\n`);
    say(`halation: a fault of the program, not of your input: ${oneLine(message)}`);
    if (terminal.isDebugging && error instanceof Error) say(error.stack ?? "");
    else say("halation: set HALATION_DEBUG=1 to see where");
    return EXIT.ours;
  }
}

/** What is thrown when the person stops the program becomes a fault of the code that nobody is told about. */
async function cancellable(
  work: () => Promise<Result<CommandResult>>,
  signal: AbortSignal,
): Promise<Result<CommandResult>> {
  try {
    return await work();
  } catch (error) {
    if (signal.aborted && error === signal.reason) return failure("cancelled", "stopped");
    throw error;
  }
}

/** Messages of libraries come with line breaks at times. */
function oneLine(text: string): string {
  return text.replaceAll(/\s*\n\s*/g, " ").trim();
}
