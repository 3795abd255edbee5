import type { Command, CommandOption } from "./command.ts";
import { COMMON_OPTIONS } from "./parse-arguments.ts";

const COLUMN = 26;

export function programHelp(commands: readonly Command[], version: string): string {
  return [
    `halation ${version}: small-angle neutron scattering frames, from detector image to I(Q)`,
    "",
    "halation COMMAND [OPTIONS]",
    ...commands.map(({ name, summary }) => `  ${name.padEnd(COLUMN)}${summary}`),
    "",
    "halation COMMAND --help   tells all about one command",
    "halation --version        tells the version",
    "",
    "Exit code: 0 done; 2 an input is at fault; 3 some inputs of a batch failed; 1 the program is at fault.",
    "",
  ].join("\n");
}

export function commandHelp(command: Command): string {
  const required = (command.required ?? []).map((name) => `--${name} ${command.options[name]?.placeholder ?? "VALUE"}`);
  const more = command.takesMore === true ? ["[...]"] : [];
  const usage = ["halation", command.name, ...command.arguments, ...more, ...required, "[OPTIONS]"].join(" ");
  const options = Object.entries({ ...command.options, ...COMMON_OPTIONS });
  return [
    usage,
    `  ${command.summary}`,
    "",
    ...options.map(([name, option]) => `  ${optionUsage(name, option).padEnd(COLUMN)}${option.help}`),
    ...(command.details === undefined ? [] : ["", command.details]),
    "",
  ].join("\n");
}

function optionUsage(name: string, { type, placeholder, isList }: CommandOption): string {
  if (type === "boolean") return `--${name}`;
  return `--${name} ${placeholder ?? "VALUE"}${isList === true ? " ..." : ""}`;
}
