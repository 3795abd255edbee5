import { describe, expect, it } from "vitest";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import type { Plan } from "../../../core/model/plan.ts";
import {
  beam,
  camera,
  files,
  frame,
  plain,
  reduce,
  refuse,
  SIDE,
  withMetadata,
} from "../../support/plan-experiment.ts";
import { inFile, type RunParts } from "../../support/run-builder.ts";

describe("what a plan lacks", () => {
  it.each([
    ["distance", "metadata.all.distance_m"],
    ["wavelength", "metadata.all.wavelength_A"],
    ["pixelSize", "metadata.all.pixelSize_mm"],
    ["beamCentre", "metadata.all.beamCentre_px"],
  ])("is named by the key to give: %s", async (key, field) => {
    const fault = await refuse(plain, { "a.npy": withMetadata({ [key]: undefined }) });
    expect(fault).toMatchObject({ code: "missing", field, file: "a.npy" });
    expect(fault.message).toContain(field);
  });

  it.each([
    ["a monitor of zero", { monitorCounts: inFile(0, "/entry/monitor") }, {}, "metadata.sample.monitorCounts"],
    ["a time of zero", { countTime: inFile(0, "/entry/time") }, { normaliseBy: "time" }, "metadata.sample.countTime_s"],
    ["a distance of zero", { distance: inFile(0, "/entry/distance") }, {}, "metadata.all.distance_m"],
    [
      "a thickness of zero",
      { thickness: inFile(0, "/entry/thickness") },
      { absolute: { method: "factor", value: 2 } },
      "metadata.sample.thickness_mm",
    ],
    ["a NaN monitor", { monitorCounts: inFile(Number.NaN, "/entry/monitor") }, {}, "metadata.sample.monitorCounts"],
  ] as const)("%s is refused with its path and key", async (_, metadata, corrections, field) => {
    const fault = await refuse({ ...plain, corrections }, { "a.npy": withMetadata(metadata) });
    expect(fault).toMatchObject({ field, file: "a.npy" });
    expect(fault.message).toContain("/entry/");
  });

  it.each([
    [
      "an empty cell without a monitor",
      { emptyCell: "x.npy" },
      { transmission: { sample: 0.7, emptyCell: 0.9 } },
      { ...camera, monitorCounts: undefined },
      "metadata.emptyCell.monitorCounts",
    ],
    [
      "a blocked beam without a time",
      { blockedBeam: "x.npy" },
      {},
      { ...camera, countTime: undefined },
      "metadata.blockedBeam.countTime_s",
    ],
    [
      "a cell at another distance",
      { emptyCell: "x.npy" },
      { transmission: { sample: 0.7, emptyCell: 0.9 } },
      { ...camera, distance: inFile(8) },
      "runs.emptyCell",
    ],
  ] as const)("%s is refused", async (_, runs, corrections, metadata, field) => {
    const given = Object.fromEntries(Object.entries(metadata).filter(([, v]) => v !== undefined));
    const fault = await refuse(
      { ...plain, runs: { ...plain.runs, ...runs }, corrections },
      { "x.npy": { ...frame(3, 9), metadata: given } },
    );
    expect(fault.field).toBe(field);
  });

  it("absolute intensities need thickness and a normalisation", async () => {
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", emptyBeam: "open.npy" },
      corrections: { absolute: { method: "direct-beam" } },
    };
    expect((await refuse(plan)).field).toBe("metadata.sample.thickness_mm");
    const thick = withMetadata({ thickness: inFile(0.001), monitorCounts: undefined });
    expect((await refuse(plan, { "a.npy": thick })).field).toBe("metadata.sample.monitorCounts");
  });

  it("a saturated, an invisible or an empty direct beam is refused", async () => {
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", emptyBeam: "open.npy", sampleTransmission: "a-open.npy" },
      corrections: { transmission: { sample: "measure", radius_px: 5 } },
    };
    const mask = new Uint16Array(SIDE * SIDE);
    mask[12 * SIDE + 11] = MASK_REASONS.saturated;
    const saturated = await refuse(plan, { "open.npy": { ...files["open.npy"]!, mask } });
    expect(saturated).toMatchObject({ field: "runs.emptyBeam", file: "open.npy" });
    expect(saturated.message).toContain("saturated");
    const nothing = { ...files["a-open.npy"]!, counts: new Float64Array(SIDE * SIDE) };
    expect(await refuse(plan, { "a-open.npy": nothing })).toMatchObject({ field: "runs.sampleTransmission" });
    const invisible = { ...plan, corrections: { transmission: "measure" as const } };
    expect((await refuse(invisible, { "open.npy": { ...frame(2, 8), metadata: camera } })).field).toBe(
      "corrections.transmission.radius_px",
    );
  });

  it("refuses a transmission above 1 that chance does not explain, and takes one that it does", async () => {
    const plan: Plan = {
      ...plain,
      runs: { sample: "a.npy", emptyBeam: "open.npy", sampleTransmission: "b.npy" },
      corrections: { transmission: { sample: "measure", radius_px: 6, obliquePath: true } },
    };
    expect((await refuse(plan, { "b.npy": beam(6000, 21) })).code).toBe("out-of-range");
    const chance = await reduce(plan, { "b.npy": beam(4020, 22) });
    expect(chance.transmission.sample!.value).toBeGreaterThan(0.97);
  });

  it("a flood with dead rows masks them and stays finite", async () => {
    const counts = Float64Array.from(files["flood.npy"]!.counts as Float64Array);
    counts.fill(0, 5 * SIDE, 6 * SIDE);
    const { maps, curves } = await reduce(
      { ...plain, runs: { sample: "a.npy", flood: "f.npy" } },
      { "f.npy": { ...files["flood.npy"]!, counts } },
    );
    for (let x = 0; x < SIDE; x++) expect(maps.mask[5 * SIDE + x]).toBe(MASK_REASONS.flood);
    expect(curves[0]!.intensity.every(Number.isFinite)).toBe(true);
    const fault = await refuse(
      { ...plain, runs: { sample: "a.npy", flood: "f.npy" } },
      { "f.npy": { ...files["flood.npy"]!, counts: new Float64Array(SIDE * SIDE) } },
    );
    expect(fault).toMatchObject({ field: "runs.flood", file: "f.npy" });
  });

  it("frames that do not fit together are refused", async () => {
    const small: RunParts = { width: 4, height: 4, counts: new Uint16Array(16), metadata: camera };
    const plan: Plan = { ...plain, runs: { sample: "a.npy", flood: "x.npy" } };
    expect((await refuse(plan, { "x.npy": small })).message).toContain("x.npy is 4 x 4, the sample a.npy is 24 x 24");
    expect((await refuse(plan, { "x.npy": frame(1, 1, { rowOrder: "top-down" }) })).message).toContain("rowOrder");
    const gone = await refuse({ ...plain, runs: { sample: ["gone.npy", "a.npy"] } });
    expect(gone).toMatchObject({ file: "gone.npy", field: "runs.sample[0]" });
  });

  it("a plan whose mask leaves nothing says so", async () => {
    const plan: Plan = { ...plain, mask: { shapes: [{ kind: "rectangle", x: 0, y: 0, width: 24, height: 24 }] } };
    expect((await refuse(plan)).message).toContain("every pixel of a.npy is masked");
  });
});
