import { describe, expect, it } from "vitest";
import { rimBars } from "../../../../renderer/beam-stop/rim-profile.ts";
import { grownOutline, stopFitOf } from "../../../../renderer/beam-stop/stop-fit.ts";
import { changeInWords, changeOfVerdict } from "../../../../renderer/beam-stop/verdict-change.ts";
import { stopReport } from "../../../support/stop-report.ts";

describe("stopFitOf", () => {
  it("draws the margin from the beam's rim to the stop's, where they are nearest", () => {
    const fit = stopFitOf(stopReport({ margin_px: 3 }));
    // From the stop at (33, 26) the beam at (30, 30) lies along (-0.6, 0.8), 5 px away: 10 - 5 - 2 = 3 px to spare.
    expect(fit?.margin?.from.x).toBeCloseTo(30 - 0.6 * 2, 12);
    expect(fit?.margin?.to.x).toBeCloseTo(33 - 0.6 * 10, 12);
    expect(fit?.margin?.to.y).toBeCloseTo(26 + 0.8 * 10, 12);
    expect(fit?.margin?.isNegative).toBe(false);
  });

  it("points across the nearest side of a turned rectangle", () => {
    const report = stopReport({ margin_px: 1 });
    const { x_px, y_px, x_px_sigma, y_px_sigma, penumbra_px, penumbra_px_sigma, level_counts } = report.stop!;
    const fit = stopFitOf({
      ...report,
      stop: {
        ...{ x_px, y_px, x_px_sigma, y_px_sigma, penumbra_px, penumbra_px_sigma, level_counts },
        ...{ shape: "rectangle", width_px: 40, height_px: 12, turn_deg: 90 },
        ...{ width_px_sigma: null, height_px_sigma: null, turn_deg_sigma: null },
      },
    });
    // Turned by a quarter, the height of 12 px lies along x: the side at x = 33 - 6 is 3 px from the beam's centre.
    expect(fit?.margin?.to.x).toBeCloseTo(27, 9);
    expect(fit?.margin?.to.y).toBeCloseTo(30, 9);
  });

  it("has nothing to draw of what was not found", () => {
    expect(stopFitOf(stopReport({ stop: null }))).toBeUndefined();
    expect(stopFitOf(stopReport({ beam: null }))?.beam).toBeUndefined();
    expect(stopFitOf(stopReport({ margin_px: null }))?.margin).toBeUndefined();
  });

  it("shrinks an outline to nothing rather than inside out", () => {
    const circle = { shape: "circle", x: 0, y: 0, radius: 2 } as const;
    expect(grownOutline(circle, 1)).toMatchObject({ radius: 3 });
    expect(grownOutline(circle, -3)).toBeUndefined();
  });
});

describe("rimBars", () => {
  it("unrolls the rim by azimuth, with the spread that chance gives the ratio", () => {
    const { leak } = stopReport();
    // 100 counts expected: one sigma of chance is 10, a tenth. The empty segment has no ratio.
    expect(rimBars(leak!).map(({ azimuth, ratio, sigma }) => [azimuth, ratio, sigma])).toEqual([
      [90, 1.5, 0.1],
      [270, 0.8, 0.1],
    ]);
  });
});

describe("changeOfVerdict", () => {
  it("tells a change with its frame and reason, and neither the first verdict nor the same again", () => {
    const leaking = stopReport({ verdict: "leaking", reason: "Direct beam passes the stop." });
    expect(changeOfVerdict("a.h5", undefined, leaking)).toBeUndefined();
    expect(changeOfVerdict("a.h5", "leaking", leaking)).toBeUndefined();
    const change = changeOfVerdict("b.h5", "covered", leaking);
    expect(change && changeInWords(change)).toBe("b.h5: covered before, leaking now. Direct beam passes the stop.");
  });
});
