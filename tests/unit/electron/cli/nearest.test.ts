import { describe, expect, it } from "vitest";
import { nearest } from "../../../../electron/cli/nearest.ts";

const COMMANDS = ["reduce", "inspect", "simulate", "anisotropy"];

describe("the nearest name", () => {
  it.each([
    ["reduse", "reduce"],
    ["Reduce", "reduce"],
    ["inspct", "inspect"],
    ["sim", "simulate"],
    ["anisotropie", "anisotropy"],
    ["xyz", undefined],
    ["", undefined],
    ["fit", undefined],
  ])("to %j is %j", (given, meant) => {
    expect(nearest(given, COMMANDS)).toBe(meant);
  });
});
