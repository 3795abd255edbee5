import { failure, type Result, success } from "../../model/result.ts";
import { type NumberTable, readNumberTable } from "../text/number-table.ts";
import { type LoadedCurve, makeCurve } from "./loaded-curve.ts";

type Role = "q" | "intensity" | "sigma" | "qSigma";

const ROLE_NAMES: Readonly<Record<Role, RegExp>> = {
  q: /^q$/i,
  intensity: /^(i|intensity|i\(q\))$/i,
  sigma: /^(di|idev|sigma|sigma_i|err|error)$/i,
  qSigma: /^(dq|qdev|sigma_q|qsigma)$/i,
};
/** The column that makes a table a profile over the azimuth. */
export const PROFILE_COLUMN = "phi";
/** Where a curve in columns stands in its file. */
export const COLUMNS_PATH = "columns";
/** Noted where no names say which column is which. */
export const COLUMNS_BY_ORDER = "columns taken as Q, I, deviation of I, deviation of Q, by their order";
const ORDER: readonly Role[] = ["q", "intensity", "sigma", "qSigma"];

/**
 * A curve in columns: Q, I, deviation of I, deviation of Q, in this order unless names above them say otherwise.
 * Further columns are kept by name; columns without any number are dropped.
 */
export function readColumns(text: string, file: string): Result<LoadedCurve> {
  const read = readNumberTable(text, file);
  if (!read.ok) return read;
  const table = read.value;
  const columns = filledColumns(table);
  const names = columnNames(table, columns);
  if (names.some((name) => /^phi$/i.test(name)))
    return failure("unsupported", `${file} is a profile over the azimuth (column phi), not a curve over Q`, {
      file,
      field: PROFILE_COLUMN,
    });
  if (columns.length < 2)
    return failure("unsupported", `${file} has ${columns.length} column of numbers; a curve needs Q and I`, { file });
  const isNamed =
    names.some((name) => ROLE_NAMES.q.test(name)) && names.some((name) => ROLE_NAMES.intensity.test(name));
  const roles = new Map<Role, Float64Array>();
  const extra: Record<string, Float64Array> = {};
  for (const [position, column] of columns.entries()) {
    const name = names[position] ?? `column ${position + 1}`;
    const role = isNamed ? ORDER.find((candidate) => ROLE_NAMES[candidate].test(name)) : ORDER[position];
    const values = Float64Array.from({ length: table.rows }, (_, row) => table.values[row * table.columns + column]!);
    if (role !== undefined && !roles.has(role)) roles.set(role, values);
    else extra[name] = values;
  }
  const comments = table.comments;
  return success(
    makeCurve({
      name: file,
      title: statedTitle(comments) ?? comments[0] ?? "",
      file,
      path: COLUMNS_PATH,
      q: roles.get("q")!,
      intensity: roles.get("intensity")!,
      sigma: roles.get("sigma"),
      qSigma: roles.get("qSigma"),
      qUnit: statedUnit(comments, "q") ?? unitInComments(comments),
      unit: statedUnit(comments, "intensity") ?? "",
      extra,
      notes: isNamed ? [] : [COLUMNS_BY_ORDER],
    }),
  );
}

function filledColumns(table: NumberTable): number[] {
  const filled = (column: number): boolean => {
    for (let row = 0; row < table.rows; row++)
      if (!Number.isNaN(table.values[row * table.columns + column]!)) return true;
    return false;
  };
  return Array.from({ length: table.columns }, (_, column) => column).filter(filled);
}

/** Names above the columns, or the words of the last comment where there are as many as columns. */
function columnNames(table: NumberTable, columns: readonly number[]): readonly string[] {
  const named = table.names ?? table.comments.at(-1)?.split(/[\s,;]+/);
  return named !== undefined && named.length >= table.columns ? columns.map((column) => named[column] ?? "") : [];
}

/** The header that this program writes itself: "title: ..." on a line, and "I: what it is; 1/cm" for each column. */
function statedTitle(comments: readonly string[]): string | undefined {
  return comments.map((comment) => /^title: (.*)$/.exec(comment)?.[1]).find((title) => title !== undefined);
}

function statedUnit(comments: readonly string[], role: Role): string | undefined {
  for (const comment of comments) {
    const match = /^(\w+): .*; (\S+)$/.exec(comment);
    if (match !== null && ROLE_NAMES[role].test(match[1]!)) return match[2];
  }
  return undefined;
}

/** A unit of Q that a comment names as "Q ... 1/nm"; "" where none does. */
function unitInComments(comments: readonly string[]): string {
  for (const comment of comments) {
    const match = /\bQ\b[^,;]{0,20}?(1\/(?:angstrom|A|Å|nm|m)\b|(?:nm|A|Å)\^-1)/.exec(comment);
    if (match !== null) return match[1]!;
  }
  return "";
}
