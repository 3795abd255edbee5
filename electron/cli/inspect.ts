import { describeRun, type RunDescription } from "../../core/formats/index.ts";
import { type Result, success } from "../../core/model/result.ts";
import { openRunFile } from "../services/run-source.ts";
import type { Command, CommandResult } from "./command.ts";

export const inspect: Command = {
  name: "inspect",
  summary: "tell what a file holds, and where each value came from",
  arguments: ["FILE"],
  options: {
    entry: { type: "string", placeholder: "NAME", help: "which entry of a file that holds several" },
    dataset: { type: "string", placeholder: "PATH", help: "which dataset holds the frames" },
  },
  async run({ given, signal, onProgress }) {
    const [file = ""] = given.positionals;
    onProgress(0, file);
    const choice = { entry: given.values.get("entry"), dataset: given.values.get("dataset") };
    const run = await openRunFile(file, choice, signal);
    if (!run.ok) return withFile(run, file);
    try {
      const described = await describeRun(run.value, signal);
      if (!described.ok) return withFile(described, file);
      return success({ json: described.value, text: describeForPeople(described.value) });
    } finally {
      run.value.close();
    }
  },
};

function withFile(result: Result<unknown> & { readonly ok: false }, file: string): Result<CommandResult> {
  return { ok: false, fault: { file, ...result.fault } };
}

function describeForPeople(run: RunDescription): string {
  const { statistics } = run;
  const values = Object.entries(run.metadata).map(([key, { value, unit, from, guessed, note }]) => {
    const shown = [Array.isArray(value) ? value.join(", ") : String(value), unit ?? ""].join(" ").trim();
    const doubts = [guessed === true ? "guessed" : "", note ?? ""].filter((part) => part !== "").join("; ");
    return [key, shown, doubts === "" ? from : `${from} (${doubts})`];
  });
  return [
    `${run.file}: ${run.formatTitle}`,
    "",
    ...run.banks.map(
      ({ name, path, width, height, frames, axis }) =>
        `bank ${name}: ${width} x ${height} pixels, ${frames} ${frames === 1 ? "frame" : `frames along ${axis}`}, from ${path}`,
    ),
    `total ${statistics.total}, largest ${statistics.max ?? "none"}, zeros ${statistics.zeros}, invalid ${statistics.invalid}`,
    "",
    ...table(values),
    ...(run.missing.length > 0 ? ["", `missing: ${run.missing.join(", ")}`] : []),
    ...run.notes.map((note) => `note: ${note}`),
    ...run.warnings.map((warning) => `warning: ${warning}`),
  ].join("\n");
}

/** Rows with their columns below each other. */
function table(rows: readonly (readonly string[])[]): readonly string[] {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => (row[column] ?? "").length)));
  return rows.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column] ?? 0))
      .join("  ")
      .trimEnd(),
  );
}
