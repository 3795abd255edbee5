import { describe, expect, it } from "vitest";
import {
  LONGEST_TREND,
  seriesRange,
  type TrendPoint,
  trendPoint,
  trendSeries,
  withPoint,
} from "../../../../renderer/beam-stop/trend.ts";
import { stopReport } from "../../../support/stop-report.ts";

describe("trend", () => {
  it("keeps a gap, never a 0, where a quantity is not known", () => {
    const blind = trendPoint(1, "a", undefined);
    const [offset, margin, rim, total, hottest] = trendSeries([blind], {});
    for (const series of [offset, margin, rim, total, hottest]) expect(series?.values).toEqual([undefined]);
    expect(blind.verdict).toBeUndefined();
  });

  it("gives lengths in mm where a frame has them so, else in pixels", () => {
    const pixels = trendPoint(1, "a", { ...stopReport(), offset_mm: null, margin_mm: null });
    const [offset] = trendSeries([pixels], {});
    // The offset of (3, -4) px is 5 px long.
    expect([offset?.unit, offset?.values]).toEqual(["px", [5]]);
    const [inMillimetres] = trendSeries([pixels, trendPoint(2, "b", stopReport())], {});
    expect([inMillimetres?.unit, inMillimetres?.values]).toEqual(["mm", [undefined, 25]]);
  });

  it("shows the limits that are set, and the margin's zero, within the range", () => {
    const trend = [trendPoint(1, "a", stopReport())];
    const [, margin, , total] = trendSeries(trend, { totalRate: 5000 });
    expect(margin && seriesRange(margin)).toEqual({ low: 0, high: 10 });
    expect(total && seriesRange(total)).toEqual({ low: 2000, high: 5000 });
  });

  it("opens a range of no height around its value, and has none where nothing is known", () => {
    const flat = { label: "", unit: "", mark: undefined };
    expect(seriesRange({ ...flat, values: [20, 20] })).toEqual({ low: 18, high: 22 });
    expect(seriesRange({ ...flat, values: [0] })).toEqual({ low: -1, high: 1 });
    expect(seriesRange({ ...flat, values: [undefined] })).toBeUndefined();
  });

  it("forgets the oldest frames of a run without end", () => {
    let trend: readonly TrendPoint[] = Array.from({ length: LONGEST_TREND }, (_, i) => trendPoint(i, "", undefined));
    trend = withPoint(trend, trendPoint(LONGEST_TREND, "", undefined));
    expect([trend.length, trend[0]?.key, trend.at(-1)?.key]).toEqual([LONGEST_TREND, 1, LONGEST_TREND]);
  });
});
