import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";
import { isRecord } from "../state/is-record.ts";

/** What the trend keeps of a frame. Undefined: not known. */
export interface TrendPoint {
  /** Which frame: place among the samples of the plan, or number of its arrival. */
  readonly key: number;
  readonly name: string;
  /** Undefined: the frame could not be judged. */
  readonly verdict: BeamStopVerdict | undefined;
  readonly offset_mm: number | undefined;
  readonly offset_px: number | undefined;
  readonly margin_mm: number | undefined;
  readonly margin_px: number | undefined;
  /** Of the strongest segment of the rim, in sigma; at or below 0: none stands out. */
  readonly rim: number | undefined;
  readonly total_1s: number | undefined;
  readonly hottest_1s: number | undefined;
}

/** Frames that a trend shows; of a longer run the last. */
export const LONGEST_TREND = 5000;

export function trendPoint(key: number, name: string, report: BeamStopReport | undefined): TrendPoint {
  const offset = report?.offset_px ?? undefined;
  return {
    key,
    name,
    verdict: report?.verdict,
    offset_mm: report?.offset_mm ?? undefined,
    offset_px: offset && Math.hypot(offset[0], offset[1]),
    margin_mm: report?.margin_mm ?? undefined,
    margin_px: report?.margin_px ?? undefined,
    rim: report?.leak?.significance,
    total_1s: report?.total.rate_1s ?? undefined,
    hottest_1s: report?.hottest?.rate_1s ?? undefined,
  };
}

/** A point that was written as JSON; undefined where the text is something else. */
export function readTrendPoint(json: string): TrendPoint | undefined {
  let value: unknown;
  try {
    value = JSON.parse(json);
  } catch (error) {
    if (error instanceof SyntaxError) return undefined;
    throw error;
  }
  if (!isRecord(value)) return undefined;
  const { key, name, verdict } = value;
  if (typeof key !== "number" || typeof name !== "string") return undefined;
  const number = (field: keyof TrendPoint): number | undefined => {
    const found = value[field];
    return typeof found === "number" && Number.isFinite(found) ? found : undefined;
  };
  return {
    ...{ key, name, verdict: VERDICTS.find((one) => one === verdict) },
    ...{ offset_mm: number("offset_mm"), offset_px: number("offset_px") },
    ...{ margin_mm: number("margin_mm"), margin_px: number("margin_px"), rim: number("rim") },
    ...{ total_1s: number("total_1s"), hottest_1s: number("hottest_1s") },
  };
}

const VERDICTS: readonly BeamStopVerdict[] = ["covered", "marginal", "leaking", "cannot-tell"];

export function withPoint(trend: readonly TrendPoint[], point: TrendPoint): readonly TrendPoint[] {
  return [...trend, point].slice(-LONGEST_TREND);
}

/** One quantity over the run. */
export interface TrendSeries {
  readonly label: string;
  readonly unit: string;
  /** One a point; undefined leaves a gap. */
  readonly values: readonly (number | undefined)[];
  /** A value that matters, drawn as a line: 0 for the margin, a limit for a rate. */
  readonly mark: number | undefined;
}

export interface TrendLimits {
  readonly hottestPixelRate?: number;
  readonly totalRate?: number;
}

/** The five quantities of the trend. Lengths are in mm where every frame has them so, else in pixels. */
export function trendSeries(trend: readonly TrendPoint[], limits: TrendLimits): readonly TrendSeries[] {
  const inMillimetres = trend.some(({ offset_mm }) => offset_mm !== undefined);
  const unit = inMillimetres ? "mm" : "px";
  const column = (read: (point: TrendPoint) => number | undefined) => trend.map(read);
  return [
    {
      label: "Offset",
      unit,
      values: column(({ offset_mm, offset_px }) => (inMillimetres ? offset_mm : offset_px)),
      mark: undefined,
    },
    {
      label: "Margin",
      unit,
      values: column(({ margin_mm, margin_px }) => (inMillimetres ? margin_mm : margin_px)),
      mark: 0,
    },
    { label: "Rim excess", unit: "σ", values: column(({ rim }) => rim && Math.max(0, rim)), mark: undefined },
    { label: "Total", unit: "1/s", values: column(({ total_1s }) => total_1s), mark: limits.totalRate },
    {
      label: "Hottest pixel",
      unit: "1/s",
      values: column(({ hottest_1s }) => hottest_1s),
      mark: limits.hottestPixelRate,
    },
  ];
}

/** Lowest and highest value with the mark among them; a range of no height is opened around its value. */
export function seriesRange({
  values,
  mark,
}: TrendSeries): { readonly low: number; readonly high: number } | undefined {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value === undefined) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (!(low <= high)) return undefined;
  if (mark !== undefined) {
    low = Math.min(low, mark);
    high = Math.max(high, mark);
  }
  if (low < high) return { low, high };
  const half = low === 0 ? 1 : Math.abs(low) / 10;
  return { low: low - half, high: high + half };
}
