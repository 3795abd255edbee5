import { failure, type Result, success } from "../../model/result.ts";

/** A rectangular table of numbers in text; NaN where a cell was empty or not a number in words. */
export interface NumberTable {
  readonly rows: number;
  readonly columns: number;
  /** Row by row. */
  readonly values: Float64Array;
  /** Names of the columns, where a line of names stands above them. */
  readonly names: readonly string[] | undefined;
  readonly comments: readonly string[];
  readonly separator: Separator;
}

export type Separator = "tab" | "semicolon" | "comma" | "blank";

const COMMENT = /^[#%!;]/;
const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
const NOT_A_NUMBER = /^[+-]?(nan(\([^)]*\))?|inf(inity)?)$/i;
const LINES_LOOKED_AT = 50;
const COMMENTS_KEPT = 200;

/**
 * Reads rows of numbers: separated by tabs, semicolons, commas or blanks, as the first 50 lines agree on; decimal commas
 * where the separator is none; comments after #, %, ! or ;; lines ended by CR, LF, CR LF or CR CR LF; Fortran exponents.
 * A row of another length than the first is a fault that names its line.
 */
export function readNumberTable(text: string, file: string): Result<NumberTable> {
  const lines = dataLines(text);
  const comments = lines.comments;
  if (lines.data.length === 0) return failure("missing", `${file}: no numbers found`, { file });
  const hasNames = !isNumeric(lines.data[0]!.text);
  const body = hasNames ? lines.data.slice(1) : lines.data;
  if (body.length === 0) return failure("missing", `${file}: no numbers found`, { file });
  const separator = findSeparator(body.slice(0, LINES_LOOKED_AT).map((line) => line.text));
  if (separator === undefined) {
    const odd = body.find((line) => !isNumeric(line.text)) ?? body[0]!;
    return failure("unreadable", `${file}, line ${odd.number}: "${shorten(odd.text)}" is not a row of numbers`, {
      file,
      field: `line ${odd.number}`,
    });
  }
  const first = split(body[0]!.text, separator);
  const trailing =
    first.length > 1 &&
    first.at(-1) === "" &&
    body.every(({ text: line }) => line.trimEnd().endsWith(SIGNS[separator]));
  const columns = trailing ? first.length - 1 : first.length;
  const values = new Float64Array(body.length * columns);
  for (const [row, line] of body.entries()) {
    const cells = split(line.text, separator);
    if (trailing) cells.pop();
    if (cells.length !== columns)
      return failure(
        "inconsistent",
        `${file}, line ${line.number}: ${cells.length} numbers; the rows before have ${columns}`,
        {
          file,
          field: `line ${line.number}`,
        },
      );
    for (let column = 0; column < columns; column++) {
      const value = cellValue(cells[column]!, separator);
      if (value === undefined)
        return failure("unreadable", `${file}, line ${line.number}: "${shorten(cells[column]!)}" is not a number`, {
          file,
          field: `line ${line.number}`,
        });
      values[row * columns + column] = value;
    }
  }
  const names = hasNames ? split(lines.data[0]!.text, separator) : undefined;
  return success({ rows: body.length, columns, values, names, comments, separator });
}

/** Whether the first lines look like comments and numbers; for sniffing, so nothing is promised. */
export function looksLikeNumbers(head: string): boolean {
  const { data } = dataLines(head);
  // The last line may be cut off.
  const whole = data.slice(0, Math.max(1, data.length - 1)).slice(0, LINES_LOOKED_AT);
  const numeric = whole.filter((line) => isNumeric(line.text)).length;
  return numeric > 0 && numeric >= whole.length - 1;
}

interface Line {
  readonly text: string;
  readonly number: number;
}

function dataLines(text: string): { readonly data: Line[]; readonly comments: string[] } {
  const data: Line[] = [];
  const comments: string[] = [];
  const lines = text.replace(/^\uFEFF/, "").split(/\r\r\n|\r\n|\n|\r/);
  for (const [index, line] of lines.entries()) {
    const trimmed = line.trim();
    if (trimmed === "") continue;
    if (COMMENT.test(trimmed)) {
      if (comments.length < COMMENTS_KEPT) comments.push(trimmed.replace(/^[#%!;]+\s*/, ""));
    } else data.push({ text: line, number: index + 1 });
  }
  return { data, comments };
}

function isNumeric(line: string): boolean {
  return ORDER.some((separator) => split(line, separator).every((cell) => cellValue(cell, separator) !== undefined));
}

const ORDER: readonly Separator[] = ["tab", "semicolon", "comma", "blank"];
const SIGNS = { tab: "\t", semicolon: ";", comma: ",", blank: " " } as const;

function findSeparator(lines: readonly string[]): Separator | undefined {
  const fits = (separator: Separator): boolean =>
    lines.every((line) => split(line, separator).every((cell) => cellValue(cell, separator) !== undefined));
  const splits = (separator: Separator): boolean => lines.every((line) => split(line, separator).length > 1);
  return ORDER.find((separator) => fits(separator) && splits(separator)) ?? (fits("blank") ? "blank" : undefined);
}

function split(line: string, separator: Separator): string[] {
  if (separator === "blank") return line.trim().split(/\s+/);
  return line.split(SIGNS[separator]).map((cell) => cell.trim());
}

/** NaN for an empty cell or a NaN in words; undefined for what is no number. */
function cellValue(cell: string, separator: Separator): number | undefined {
  if (cell === "") return separator === "blank" ? undefined : Number.NaN;
  const plain = separator === "comma" ? cell : cell.replace(",", ".");
  const number = plain.replace(/[dD]([+-]?\d+)$/, "e$1");
  if (NUMBER.test(number)) return Number(number);
  return NOT_A_NUMBER.test(plain) ? Number.NaN : undefined;
}

function shorten(text: string): string {
  return text.length > 40 ? `${text.slice(0, 40)}...` : text;
}
