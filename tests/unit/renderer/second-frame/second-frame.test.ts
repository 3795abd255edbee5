import { describe, expect, it } from "vitest";
import type { Plan } from "../../../../core/plan/plan.ts";
import { apply, fitted, type Layout, screenTransform } from "../../../../renderer/frame/display-transform.ts";
import { viewFor } from "../../../../renderer/frame/view-link.ts";
import { likelySecond, secondPaths, secondReference } from "../../../../renderer/second-frame/second-choice.ts";
import type { PlanFile } from "../../../../renderer/state/plan-file.ts";

const layout = (width: number, height: number): Layout => ({
  ...{ width, height, pixelAspect: 1, seenFromSample: false },
  ...{ rowOrder: "bottom-up", transpose: false },
});
const size = { width: 300, height: 200 };

describe("a linked view", () => {
  it("is the very same for a frame of the same shape", () => {
    const view = { x: 12.3, y: 45.6, scale: 3.21 };
    expect(viewFor({ key: "", view, layout: layout(128, 96), size }, layout(128, 96), { ...size })).toBe(view);
  });

  it("shows the same part of a frame with twice the pixels", () => {
    const view = { x: 20, y: 70, scale: 5 };
    const other = viewFor({ key: "", view, layout: layout(128, 96), size }, layout(256, 192), size);
    // The outer border of the first pixel, and of the last: the same places of the bank on the same places of the screen.
    for (const [x, y] of [
      [0, 0],
      [128, 96],
      [64, 10],
    ] as const) {
      const here = apply(screenTransform(layout(128, 96), view, size), { x: x - 0.5, y: y - 0.5 });
      const there = apply(screenTransform(layout(256, 192), other, size), { x: 2 * x - 0.5, y: 2 * y - 0.5 });
      expect(there.x).toBeCloseTo(here.x, 9);
      expect(there.y).toBeCloseTo(here.y, 9);
    }
  });

  it("stays the whole in a room of another size", () => {
    const whole = fitted(layout(128, 96), size);
    const room = { width: 100, height: 400 };
    expect(viewFor({ key: "", view: whole, layout: layout(128, 96), size }, layout(128, 96), room)).toEqual(
      fitted(layout(128, 96), room),
    );
  });
});

describe("the second frame", () => {
  const file = (path: string): PlanFile => ({
    ...{ path, name: path, label: path, size: 1 },
    origin: { kind: "dropped", key: path },
  });
  const treeOf = (sample: Plan["runs"]["sample"], paths: readonly string[], mask?: string) => ({
    plan: { planVersion: 1, runs: { sample }, ...(mask && { mask: { file: mask } }) } as Plan,
    files: Object.fromEntries(paths.map((path) => [path, file(path)])),
  });
  const whole = { sampleIndex: 0, stackFrame: undefined };

  it("is the next sample, and after the last the first", () => {
    const tree = treeOf(["a", "b"], ["a", "b", "flood"]);
    expect(likelySecond(tree, whole, {})).toEqual({ path: "b", frame: undefined });
    expect(likelySecond(tree, { sampleIndex: 1, stackFrame: undefined }, {})).toEqual({ path: "a", frame: undefined });
  });

  it("is another run where there is one sample, never the mask", () => {
    const tree = treeOf("a", ["a", "mask", "cell"], "mask");
    expect(secondPaths(tree)).toEqual(["a", "cell"]);
    expect(likelySecond(tree, whole, {})).toEqual({ path: "cell", frame: undefined });
    expect(likelySecond(treeOf("a", ["a"]), whole, {})).toBeUndefined();
  });

  it("is read as the plan reads that run", () => {
    const tree = treeOf({ file: "a", rowOrder: "top-down", frame: 2 }, ["a"]);
    expect(secondReference(tree, { path: "a", frame: 7 })).toEqual({ file: "a", rowOrder: "top-down", frame: 7 });
    expect(secondReference(tree, { path: "other", frame: undefined })).toBe("other");
  });
});
