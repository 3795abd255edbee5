import { parseArgs } from "node:util";
import { failure, type Result, success } from "../../core/model/result.ts";
import type { Command, CommandOption, CommandValues } from "./command.ts";
import { didYouMean } from "./nearest.ts";

/** What every command takes. */
export const COMMON_OPTIONS: Readonly<Record<string, CommandOption>> = {
  json: { type: "boolean", help: "one JSON document on standard output" },
  help: { type: "boolean", help: "this page" },
};

/**
 * The arguments of a command. An unknown option, a missing or an extra argument is a fault that names it and, where one
 * is near, the option that was meant.
 */
export function parseArguments(command: Command, argv: readonly string[]): Result<CommandValues> {
  const options = { ...command.options, ...COMMON_OPTIONS };
  const { tokens } = parseArgs({
    args: [...argv],
    strict: false,
    allowPositionals: true,
    tokens: true,
    options: Object.fromEntries(Object.entries(options).map(([name, { type }]) => [name, { type }])),
  });
  const flags = new Set<string>();
  const values = new Map<string, string>();
  const lists = new Map<string, string[]>();
  const positionals: string[] = [];
  let openList: string[] | undefined;

  for (const token of tokens) {
    if (token.kind === "option-terminator") openList = undefined;
    else if (token.kind === "positional") {
      // `--sample a b c`: what follows belongs to the list, once the command has its own arguments.
      if (openList !== undefined && positionals.length >= command.arguments.length) openList.push(token.value);
      else positionals.push(token.value);
    } else {
      openList = undefined;
      const option = Object.hasOwn(options, token.name) ? options[token.name] : undefined;
      if (option === undefined) {
        const near = didYouMean(token.name, Object.keys(options), "--");
        return wrong(command, `${command.name} has no option ${token.rawName}${near}`, token.rawName);
      }
      if (option.type === "boolean") {
        if (token.value !== undefined) return wrong(command, `${token.rawName} takes no value`, token.rawName);
        flags.add(token.name);
      } else if (
        token.value === undefined ||
        token.value === "" ||
        (!token.inlineValue && token.value.startsWith("--"))
      ) {
        return wrong(command, `${token.rawName} needs a value: ${option.placeholder ?? "VALUE"}`, token.rawName);
      } else if (option.isList === true) {
        openList = lists.get(token.name) ?? [];
        openList.push(token.value);
        lists.set(token.name, openList);
      } else values.set(token.name, token.value);
    }
  }
  const given: CommandValues = { flags, values, lists, positionals };
  return flags.has("help") ? success(given) : checkComplete(command, given);
}

function checkComplete(command: Command, given: CommandValues): Result<CommandValues> {
  const { positionals, values } = given;
  const missing = command.arguments[positionals.length];
  if (missing !== undefined) return wrong(command, `${command.name} needs ${missing}`, missing);
  const extra = positionals[command.arguments.length];
  if (extra !== undefined && command.takesMore !== true)
    return wrong(command, `${command.name} takes no further argument "${extra}"`, extra);
  for (const name of command.required ?? [])
    if (!values.has(name)) {
      const placeholder = command.options[name]?.placeholder ?? "VALUE";
      return wrong(command, `${command.name} needs --${name} ${placeholder}`, `--${name}`);
    }
  return success(given);
}

function wrong(command: Command, message: string, field: string): Result<never> {
  return failure("unsupported", `${message} (see halation ${command.name} --help)`, { field });
}
