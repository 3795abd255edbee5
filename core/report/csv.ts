import type { Curve, Profile } from "../model/curve.ts";
import { shortest } from "../model/numbers.ts";
import { averageColumns } from "./average-table.ts";

/**
 * An average as comma-separated values (RFC 4180, with LF): a line of column names, then one line a bin, each number the
 * shortest that reads back as the same double. A value that isn't known is an empty cell.
 */
export function averageCsv(average: Curve | Profile): string {
  const columns = averageColumns(average);
  const lines = [columns.map((column) => column.name).join(",")];
  for (let b = 0; b < average.intensity.length; b++) {
    lines.push(columns.map(({ values }) => (values === undefined ? "" : shortest(values[b]!))).join(","));
  }
  return `${lines.join("\n")}\n`;
}
