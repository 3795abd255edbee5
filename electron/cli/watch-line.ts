import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import { readable } from "../../core/model/numbers.ts";
import type { Fault } from "../../core/model/result.ts";
import type { LogLine } from "../services/watch-journal.ts";

/** A line of `watch.jsonl`. A quantity that can't be given is null; `_sigma`: one standard deviation. */
export interface WatchLine extends LogLine {
  readonly sequence: number;
  /** When the frame was judged, ISO 8601. */
  readonly time: string;
  readonly file: string;
  /** The same name was there before with another content. */
  readonly replaced: boolean;
  /** Null: the frame could not be judged. */
  readonly verdict: BeamStopVerdict | null;
  /** Of the last frame before that was judged. */
  readonly previousVerdict: BeamStopVerdict | null;
}

/** Where a line stands in the run. */
export interface LinePlace {
  readonly sequence: number;
  readonly file: string;
  readonly replaced: boolean;
  readonly previousVerdict: BeamStopVerdict | null;
}

export function judgedLine(
  { sequence, file, replaced, previousVerdict }: LinePlace,
  { report, folder }: { readonly report: BeamStopReport; readonly folder: string },
): WatchLine {
  const { verdict, reason, leak, hottest, total } = report;
  return {
    ...{ sequence, time: new Date().toISOString(), file, replaced, folder, verdict, previousVerdict, reason },
    ...{ offset_px: report.offset_px, offset_mm: report.offset_mm, offset_mm_sigma: report.offset_mm_sigma },
    ...{ margin_px: report.margin_px, margin_mm: report.margin_mm, margin_mm_sigma: report.margin_mm_sigma },
    move_mm: report.move_mm,
    rimExcess_counts: leak?.excessCounts ?? null,
    rimExcess_counts_sigma: leak?.excessCounts_sigma ?? null,
    rimSignificance: leak?.significance ?? null,
    total_counts: total.counts,
    totalRate_1s: total.rate_1s,
    hottest_px: hottest === null ? null : [hottest.x_px, hottest.y_px],
    hottest_counts: hottest?.counts ?? null,
    hottestRate_1s: hottest?.rate_1s ?? null,
  };
}

export function failedLine({ sequence, file, replaced, previousVerdict }: LinePlace, fault: Fault): WatchLine {
  const { code, message, field } = fault;
  const error = { code, message, ...(field !== undefined && { field }) };
  return { sequence, time: new Date().toISOString(), file, replaced, verdict: null, previousVerdict, error };
}

/** For people: the frame, what was found, and the change of verdict where there is one. */
export function lineText(line: WatchLine, report: BeamStopReport | undefined): string {
  const name = line.replaced ? `${line.file} (replaced)` : line.file;
  if (report === undefined) {
    const { message } = line["error"] as Fault;
    return `${clock(line.time)}  ${name}  failed: ${message}`;
  }
  const facts = [
    lengthText("offset", report.offset_mm, report.offset_px && Math.hypot(...report.offset_px)),
    lengthText("margin", report.margin_mm, report.margin_px),
    report.leak === null ? "" : `rim ${report.leak.significance.toFixed(1)} sigma`,
    report.total.rate_1s === null ? "" : `total ${readable(report.total.rate_1s)} 1/s`,
    hottestText(report.hottest),
  ].filter((fact) => fact !== "");
  const head = `${clock(line.time)}  ${name}  ${verdictWord(report.verdict)}  ${facts.join(", ")}`;
  if (line.previousVerdict === null || line.previousVerdict === line.verdict) return head;
  return `${head}\n  the verdict was ${verdictWord(line.previousVerdict)} and is now ${verdictWord(report.verdict)}: ${report.reason}`;
}

function clock(time: string): string {
  return time.slice(0, 19).replace("T", " ");
}

export function verdictWord(verdict: BeamStopVerdict): string {
  return verdict === "cannot-tell" ? "cannot tell" : verdict;
}

function lengthText(name: string, millimetres: number | null, pixels: number | null): string {
  if (millimetres !== null) return `${name} ${millimetres.toFixed(1)} mm`;
  return pixels === null ? "" : `${name} ${pixels.toFixed(2)} px`;
}

function hottestText(hottest: BeamStopReport["hottest"]): string {
  if (hottest === null || hottest.rate_1s === null) return "";
  return `hottest ${readable(hottest.rate_1s)} 1/s at (${hottest.x_px}, ${hottest.y_px})`;
}
