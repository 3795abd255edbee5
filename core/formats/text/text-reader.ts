import { failure, success } from "../../model/result.ts";
import { checkFrameSize } from "../limits.ts";
import { plainRun } from "../plain-run.ts";
import type { FormatReader } from "../reader.ts";
import { decodeBytes, isPrintable, readTextFile } from "./decode-text-file.ts";
import { looksLikeNumbers, type NumberTable, readNumberTable } from "./number-table.ts";

/** Tables up to this many columns whose first one increases are curves. */
const CURVE_COLUMNS = 4;
const COMMENTS_SHOWN = 20;

/** A matrix of numbers in text, one row of pixels a line. */
export const textReader: FormatReader = {
  id: "text",
  title: "text matrix",
  choices: [],
  sniff(head) {
    if (!isPrintable(head)) return "no";
    const text = decodeBytes(head);
    if (/^\s*(<|###CBF|data_)/.test(text.replace(/^\uFEFF/, ""))) return "no";
    return looksLikeNumbers(text) ? "yes" : "maybe";
  },
  async open(source, context) {
    const text = await readTextFile(source);
    if (!text.ok) return text;
    const read = readNumberTable(text.value, source.name);
    if (!read.ok) return read;
    const table = read.value;
    const refusal = notAFrame(table);
    if (refusal !== undefined) return failure("unsupported", `${source.name} ${refusal}`, { file: source.name });
    const size = checkFrameSize(source.name, table.columns, table.rows);
    if (!size.ok) return failure(size.fault.code, size.fault.message, { file: source.name });
    return success(
      plainRun({
        name: source.name,
        format: "text",
        formatTitle: `text matrix separated by ${table.separator}s`,
        bankName: "matrix",
        path: "/",
        width: table.columns,
        height: table.rows,
        frames: 1,
        counting: table.values.every((value) => Number.isInteger(value) || Number.isNaN(value)),
        rowOrder: "top-down",
        transpose: false,
        choice: context.choice,
        notes: [
          "the first line is taken as the top row: assumed",
          ...table.comments.slice(0, COMMENTS_SHOWN).map((comment) => `comment in the file: ${comment}`),
        ],
        readPixels: async () => success(table.values.slice()),
      }),
    );
  },
};

function notAFrame(table: NumberTable): string | undefined {
  const { rows, columns, values } = table;
  if (columns === 1) {
    const side = Math.sqrt(rows);
    const square = Number.isInteger(side) ? ` (it could be ${side} x ${side} pixels: write it as that many rows)` : "";
    return `is one column of ${rows} numbers, not rows of pixels${square}`;
  }
  if (rows === 1) return `is one row of ${columns} numbers, not a frame`;
  const increases = Array.from({ length: rows - 1 }, (_, row) => values[(row + 1) * columns]! > values[row * columns]!);
  if (columns <= CURVE_COLUMNS && rows > columns && increases.every(Boolean))
    return `is a table of ${columns} columns, the first increasing: a curve, not a frame`;
  return undefined;
}
