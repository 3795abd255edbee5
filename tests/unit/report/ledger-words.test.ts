import { describe, expect, it } from "vitest";
import { effectInWords, notAppliedInWords, parameterText, stepName } from "../../../core/report/ledger-words.ts";

describe("the ledger in words", () => {
  it("names steps, and shows a new one by its key", () => {
    expect(stepName("deadTime")).toBe("dead time");
    expect(stepName("somethingNew")).toBe("somethingNew");
  });

  it("says why a step was not applied", () => {
    const entry = { step: "flood", status: "not applied", parameters: {}, sources: {}, warnings: [] } as const;
    expect(notAppliedInWords({ ...entry, reason: "no flood\nrun" })).toBe("detector sensitivity (flood): no flood run");
    expect(notAppliedInWords(entry)).toBe("detector sensitivity (flood)");
  });

  it("writes parameters of every kind, and not known rather than 0", () => {
    expect(parameterText(0.1 + 0.2)).toBe("0.30000000000000004");
    expect(parameterText([1, "a", true, null])).toBe("1, a, yes, not known");
    expect(parameterText({ shape: "circle", x: Number.NaN, gone: undefined })).toBe("shape circle, x not known");
    expect(parameterText({ a: [0.123456] }, (value) => value.toFixed(2))).toBe("a 0.12");
  });

  it("tells an effect in a phrase", () => {
    expect(effectInWords({ factorMin: 0.5, factorMax: 0.5, signalBefore: 81234, signalAfter: 40617 })).toBe(
      "factor 0.5; signal 81234 to 40617",
    );
    expect(effectInWords({ factorMin: 1, factorMax: 1.012, pixelsMasked: 6 })).toBe(
      "factor from 1 to 1.012; 6 pixels masked",
    );
    expect(effectInWords(undefined)).toBe("");
  });
});
