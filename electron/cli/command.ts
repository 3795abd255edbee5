import type { Fault, Result } from "../../core/model/result.ts";

/** One option of a command, for parsing and for its help page. */
export interface CommandOption {
  readonly type: "string" | "boolean";
  /** May be given several times, and takes the plain arguments that follow it. */
  readonly isList?: true;
  /** What stands for the value in the help: "DIR". */
  readonly placeholder?: string;
  readonly help: string;
}

export interface CommandValues {
  readonly flags: ReadonlySet<string>;
  /** Values of options that take one; the last wins. */
  readonly values: ReadonlyMap<string, string>;
  readonly lists: ReadonlyMap<string, readonly string[]>;
  readonly positionals: readonly string[];
}

export interface CommandContext {
  readonly given: CommandValues;
  readonly signal: AbortSignal;
  /** The built body of a thread that reduces samples; absent where the program runs from its sources. */
  readonly threadFile?: URL | undefined;
  /** `fraction` of the work, 0 to 1, and what is being done. */
  readonly onProgress: (fraction: number, what: string) => void;
  /** A line of the result, from a command whose results come one by one: to standard output. */
  readonly print: (text: string) => void;
  /** A line for the person that is no result: to standard error. */
  readonly note: (text: string) => void;
}

/** What a command found: `json` for --json, `text` for people. */
export interface CommandResult {
  /** Undefined: all was printed as it came. */
  readonly json: unknown;
  readonly text: string;
  /** Inputs of a batch that failed while others went through; each becomes a sentence on standard error. */
  readonly failed?: readonly Fault[];
}

export interface Command {
  readonly name: string;
  readonly summary: string;
  /** Names of the plain arguments, all required: ["PLAN"]. */
  readonly arguments: readonly string[];
  /** The last of them may be followed by more of its kind. */
  readonly takesMore?: true;
  readonly options: Readonly<Record<string, CommandOption>>;
  /** Options that must be given. */
  readonly required?: readonly string[];
  readonly details?: string;
  run(context: CommandContext): Promise<Result<CommandResult>>;
}
