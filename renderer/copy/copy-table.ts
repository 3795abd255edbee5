import type { Curve, Profile } from "../../core/model/curve.ts";
import { azimuthDegrees, shortest } from "../../core/model/numbers.ts";

/** A curve or a profile under the name that the person sees. */
export interface NamedCurve {
  readonly label: string;
  readonly data: Curve | Profile;
}

interface Column {
  readonly head: string;
  readonly values: readonly number[];
}

/**
 * Curves as a spreadsheet takes them: a line of names with units, then a line a point, tabs between. Curves stand beside
 * each other, each with its own Q; a short one ends in empty fields, and so does a value that isn't known.
 */
export function tableText(curves: readonly NamedCurve[]): string {
  const columns = curves.flatMap(columnsOf);
  const rows = Math.max(0, ...columns.map(({ values }) => values.length));
  const lines = [columns.map(({ head }) => head).join("\t")];
  for (let i = 0; i < rows; i++) lines.push(columns.map(({ values }) => shortest(values[i] ?? Number.NaN)).join("\t"));
  return `${lines.join("\n")}\n`;
}

function columnsOf({ label, data }: NamedCurve): readonly Column[] {
  const { intensity, sigma, unit } = data;
  const name = label.replaceAll(/\s+/g, " ");
  const column = (what: string, in_: string, values: Iterable<number>): Column => ({
    head: `${name} ${what} (${in_})`,
    values: [...values],
  });
  const measured = [column("I", unit, intensity), column("dI", unit, sigma)];
  if (data.kind === "annulus") return [column("phi", "deg", [...data.phi].map(azimuthDegrees)), ...measured];
  const { q, qSigma } = data;
  return [column("Q", "1/Å", q), ...measured, ...(qSigma === undefined ? [] : [column("dQ", "1/Å", qSigma)])];
}
