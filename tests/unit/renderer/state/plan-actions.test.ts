import { describe, expect, it } from "vitest";
import { validatePlan } from "../../../../core/plan/parse.ts";
import type { MaskShape, Plan } from "../../../../core/plan/plan.ts";
import { applyAction, type PlanAction } from "../../../../renderer/state/plan-actions.ts";

const plan: Plan = {
  planVersion: 1,
  runs: { sample: "a.h5", emptyBeam: { file: "direct.h5", frame: 0 } },
  metadata: { all: { wavelength_A: 6 }, sample: { beamCentre_px: [1, 2], thickness_mm: 1 } },
  beamCentre: { method: "symmetry" },
};
const circle: MaskShape = { kind: "circle", x: 3, y: 4, r: 5 };

describe("moving the centre", () => {
  it("gives the centre to every run, over what the sample alone had", () => {
    const moved = applyAction(plan, { type: "move-centre", x: 63.5, y: 60.25 });
    expect(moved.beamCentre).toEqual({ method: "given" });
    expect(moved.metadata).toEqual({
      all: { wavelength_A: 6, beamCentre_px: [63.5, 60.25] },
      sample: { thickness_mm: 1 },
    });
  });
});

describe("mask shapes", () => {
  const two = [circle, { ...circle, x: 9 }].reduce<Plan>(
    (before, shape) => applyAction(before, { type: "add-shape", shape }),
    plan,
  );

  it("are added at the end, replaced in their place and removed alone", () => {
    const replaced = applyAction(two, { type: "replace-shape", index: 0, shape: { ...circle, r: 7 } });
    expect(replaced.mask?.shapes).toEqual([
      { ...circle, r: 7 },
      { ...circle, x: 9 },
    ]);
    expect(applyAction(two, { type: "remove-shape", index: 0 }).mask?.shapes).toEqual([{ ...circle, x: 9 }]);
  });

  it("leave the plan that they were added to as it was", () => {
    expect(plan.mask).toBeUndefined();
  });
});

describe("averages", () => {
  it("are written down where the plan left them to the default", () => {
    const added = applyAction(plan, {
      type: "add-average",
      average: { id: "flow", kind: "sector", centre_deg: 0, halfWidth_deg: 15 },
    });
    expect(added.averages?.map(({ id }) => id)).toEqual(["radial", "flow"]);
  });

  it("hold no key without a value, so that the saved plan is the same plan", () => {
    const changed = applyAction(plan, {
      type: "replace-average",
      id: "radial",
      average: { id: "radial", kind: "radial", bins: undefined },
    });
    expect(Object.keys(changed.averages?.[0] ?? {})).toEqual(["id", "kind"]);
  });
});

describe("numbers of a run", () => {
  it("go back to what the file says when they are taken out, with the section that they leave empty", () => {
    const only: Plan = { planVersion: 1, runs: { sample: "a.h5" }, metadata: { all: { distance_m: 4 } } };
    const cleared = applyAction(only, { type: "set-metadata", scope: "all", fileKey: "distance_m", value: undefined });
    expect(cleared).toEqual({ planVersion: 1, runs: { sample: "a.h5" } });
  });
});

describe("roles", () => {
  it("make a list of samples", () => {
    expect(applyAction(plan, { type: "set-role", path: "b.h5", role: "sample" }).runs.sample).toEqual(["a.h5", "b.h5"]);
  });

  it("go from one run to another, and what is taken from a file goes with it", () => {
    const moved = applyAction(plan, { type: "set-role", path: "direct.h5", role: "sampleTransmission" });
    expect(moved.runs).toEqual({ sample: "a.h5", sampleTransmission: { file: "direct.h5", frame: 0 } });
  });

  it("leave the last sample where it is: a plan needs one", () => {
    expect(applyAction(plan, { type: "set-role", path: "a.h5", role: "flood" })).toBe(plan);
    expect(applyAction(plan, { type: "set-role", path: "a.h5", role: undefined })).toBe(plan);
  });

  it("take a sample out of the list and give it another role", () => {
    const two = applyAction(plan, { type: "set-role", path: "b.h5", role: "sample" });
    expect(applyAction(two, { type: "set-role", path: "a.h5", role: "flood" }).runs).toEqual({
      sample: "b.h5",
      emptyBeam: { file: "direct.h5", frame: 0 },
      flood: "a.h5",
    });
  });
});

describe("the radius of direct beams", () => {
  const withCorrections = (corrections: NonNullable<Plan["corrections"]>): Plan => ({
    ...plan,
    runs: { ...plan.runs, emptyCell: "cell.h5" },
    corrections,
  });
  const radius = (corrections: NonNullable<Plan["corrections"]>, radius_px: number | undefined) =>
    applyAction(withCorrections(corrections), { type: "set-beam-radius", radius_px }).corrections;

  it("goes with the absolute scale, and where the transmissions have one of their own, with both", () => {
    expect(radius({ absolute: { method: "direct-beam" }, transmission: "measure" }, 7)).toEqual({
      absolute: { method: "direct-beam", directBeamRadius_px: 7 },
      transmission: "measure",
    });
    expect(radius({ absolute: { method: "direct-beam" }, transmission: { sample: 0.5, radius_px: 9 } }, 7)).toEqual({
      absolute: { method: "direct-beam", directBeamRadius_px: 7 },
      transmission: { sample: 0.5, radius_px: 7 },
    });
  });

  it("goes with the transmissions where no absolute scale has it; the word for all of them is spelt out", () => {
    expect(radius({ absolute: { method: "factor", value: 2 }, transmission: "measure" }, 7)).toEqual({
      absolute: { method: "factor", value: 2 },
      transmission: { sample: "measure", emptyCell: "measure", radius_px: 7 },
    });
    expect(radius({}, 7)).toEqual({ transmission: { radius_px: 7 } });
  });

  it("is found by itself again where it is taken out", () => {
    expect(radius({ absolute: { method: "direct-beam", directBeamRadius_px: 7 } }, undefined)).toEqual({
      absolute: { method: "direct-beam" },
    });
  });
});

describe("every action", () => {
  const actions: readonly PlanAction[] = [
    { type: "move-centre", x: 1, y: 2 },
    { type: "choose-centre-method", beamCentre: { method: "rings", dSpacing_A: 58.38 } },
    { type: "add-shape", shape: circle },
    { type: "clear-shapes" },
    { type: "switch-auto-mask", kind: "hot", on: true },
    { type: "set-edge", edge_px: 2 },
    { type: "set-mask-file", file: "mask.npy" },
    { type: "set-mask-file", file: undefined },
    { type: "set-correction", key: "solidAngle", value: "cosine-cubed" },
    { type: "set-correction", key: "solidAngle", value: undefined },
    { type: "set-metadata", scope: "sample", fileKey: "countTime_s", value: 60 },
    { type: "set-title", title: "Rods" },
    { type: "remove-average", id: "radial" },
    { type: "set-beam-radius", radius_px: 7.5 },
    { type: "set-beam-radius", radius_px: undefined },
  ];
  it.each(actions)("$type leaves a plan that the schema takes", (action) => {
    expect(validatePlan(applyAction(plan, action))).toMatchObject({ ok: true });
  });
});
