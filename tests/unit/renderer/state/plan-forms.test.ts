import { describe, expect, it } from "vitest";
import { validatePlan } from "../../../../core/plan/parse.ts";
import type { Plan } from "../../../../core/plan/plan.ts";
import { readNumbers } from "../../../../renderer/app/parts/numbers-box.tsx";
import { edgesBetween, isAscending } from "../../../../renderer/panels/bin-fields.tsx";
import { createDocumentStore } from "../../../../renderer/state/document-store.ts";
import { lastSetting } from "../../../../renderer/state/left-out.ts";
import { missingNumber } from "../../../../renderer/state/missing-number.ts";
import { applyAction } from "../../../../renderer/state/plan-actions.ts";

const plan: Plan = { planVersion: 1, runs: { sample: ["a.h5", "b.h5"], blockedBeam: "cell.h5" } };

describe("a step that is left out", () => {
  it("comes back with its parameters, also after other changes", () => {
    const store = createDocumentStore();
    const { act } = store.getState();
    store.getState().open({ plan, files: {} });
    const deadTime = { model: "paralysable", tau_s: 3e-6, per: "bank" } as const;
    act({ type: "set-correction", key: "deadTime", value: deadTime });
    act({ type: "set-correction", key: "deadTime", value: "none" });
    act({ type: "set-edge", edge_px: 3 });
    expect(lastSetting(store.getState().history, "deadTime")).toEqual(deadTime);
  });

  it("was never told anything: the default", () => {
    const store = createDocumentStore();
    store.getState().open({ plan: { ...plan, corrections: { flood: "none" } }, files: {} });
    expect(lastSetting(store.getState().history, "flood")).toBeUndefined();
  });
});

describe("what is read from a file", () => {
  it("is told wherever the plan names the file, and makes a plan that is valid", () => {
    const source = { dataset: "/entry/data", frame: 3, rowOrder: "top-down", transpose: true } as const;
    const changed = applyAction(plan, { type: "choose-source", path: "b.h5", source });
    expect(changed.runs).toEqual({ sample: ["a.h5", { file: "b.h5", ...source }], blockedBeam: "cell.h5" });
    expect(validatePlan(changed).ok).toBe(true);
  });

  it("is a plain path again when everything is left to the reader", () => {
    const once = applyAction(plan, { type: "choose-source", path: "cell.h5", source: { frame: "sum" } });
    const back = applyAction(once, { type: "choose-source", path: "cell.h5", source: { frame: undefined } });
    expect(back).toEqual(plan);
  });
});

describe("bins by their edges", () => {
  it("start half way between the points that are there, in few digits", () => {
    expect(edgesBetween(Float64Array.of(0.01, 0.02, 0.04, 0.0812345))).toEqual([0.015, 0.03, 0.06062]);
    expect(edgesBetween(Float64Array.of(0.01, 0.02))).toBeUndefined();
  });

  it("are read as a person writes them, and refused where they don't ascend", () => {
    expect(readNumbers("0.01, 0.02; 3e-2\n0,05")).toEqual([0.01, 0.02, 0.03, 0.05]);
    expect(readNumbers("0.01 wide")).toBeUndefined();
    expect(isAscending([0.01, 0.01])).toBe(false);
    expect(isAscending([0.01])).toBe(false);
  });
});

describe("a fault that asks for a number", () => {
  it("names its field and its runs", () => {
    const fault = { code: "missing", message: "no distance", field: "metadata.all.distance_m" } as const;
    expect(missingNumber(fault)).toMatchObject({ scope: "all", field: { key: "distance", unit: "m" } });
  });

  it("is any other fault: nothing to type", () => {
    expect(missingNumber({ code: "missing", message: "no file", field: "runs.flood" })).toBeUndefined();
    expect(missingNumber({ code: "missing", message: "x", field: "metadata.nobody.distance_m" })).toBeUndefined();
  });
});
