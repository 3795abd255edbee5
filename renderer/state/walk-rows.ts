import { readable } from "../../core/model/numbers.ts";
import type { WalkStep } from "../../core/plan/point-walk.ts";

export interface WalkRow {
  readonly step: string;
  /** Undefined for the first. */
  readonly change: string;
  readonly intensity: number;
}

/** Steps that take something off; the others multiply or divide. */
const TAKES_OFF: readonly string[] = ["blockedBeam", "emptyCell", "background", "background_1cm"];

/** A point's walk with what each step did to it. Steps that left it as it was are passed over, but for the first and the last. */
export function walkRows(walk: readonly WalkStep[]): readonly WalkRow[] {
  const rows: WalkRow[] = [];
  for (const [i, { step, intensity }] of walk.entries()) {
    const before = walk[i - 1]?.intensity;
    if (before === undefined) rows.push({ step, change: "mean of its pixels", intensity });
    else if (intensity !== before) rows.push({ step, change: changeOf(step, before, intensity), intensity });
  }
  return rows;
}

function changeOf(step: string, before: number, after: number): string {
  if (!TAKES_OFF.includes(step)) return `× ${readable(after / before)}`;
  const off = before - after;
  const sign = off < 0 ? "+" : "−";
  return `${sign} ${readable(Math.abs(off))}, ${readable(Number(((100 * Math.abs(off)) / Math.abs(before)).toPrecision(2)))} %`;
}
