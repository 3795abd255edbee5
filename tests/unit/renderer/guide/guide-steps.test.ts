import { describe, expect, it } from "vitest";
import { answerOf, STEPS, showing, stepFrom, stepOnShow } from "../../../../renderer/guide/guide-steps.ts";
import { GUIDE_STEPS, type GuideStep } from "../../../../renderer/state/view-settings.ts";

describe("the first steps", () => {
  it("begin by themselves on the sample experiment alone, once", () => {
    expect(stepOnShow("unseen", true)).toBe("frame");
    expect(stepOnShow("unseen", false)).toBeUndefined();
    expect(stepOnShow("closed", true)).toBeUndefined();
    expect(stepOnShow("curves", false)).toBe("curves");
  });

  it("go forth and back through every step, and end", () => {
    const way: GuideStep[] = ["frame"];
    for (let step = stepFrom("frame", 1); step !== undefined; step = stepFrom(step, 1)) way.push(step);
    expect(way).toEqual(GUIDE_STEPS);
    expect(stepFrom("frame", -1)).toBeUndefined();
    expect(stepFrom("own", -1)).toBe("curves");
  });

  it("show each question, and leave it alone at the end", () => {
    const shown = GUIDE_STEPS.map((step) => showing(step).question);
    expect(shown).toEqual(["curves", "beam-stop", "anisotropy", "curves", undefined]);
    for (const { words } of Object.values(STEPS)) expect(words.length).toBeLessThan(160);
  });

  it("say what was found, never a sentence of their own", () => {
    const nothing = { reduction: undefined, fault: undefined, anisotropy: undefined, stop: undefined };
    expect(answerOf("frame", nothing)).toBeUndefined();
    expect(answerOf("own", nothing)).toBeUndefined();
    expect(answerOf("beam-stop", nothing)).toEqual({
      state: "cannot-tell",
      sentence: "Open a frame to answer this",
    });
  });
});
