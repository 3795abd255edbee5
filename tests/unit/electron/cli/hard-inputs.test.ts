import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import type { Hdf5TreeDataset, Hdf5TreeGroup } from "../../../../core/formats/hdf5/write-tree.ts";
import { writeHdf5 } from "../../../../electron/services/write-hdf5.ts";
import { halation } from "../../../support/command-line.ts";
import { poissonSource } from "../../../support/random.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const SIDE = 16;
const root = temporaryFolder();
const data = join(root, "data");

function group(NX_class: string, children: Hdf5TreeGroup["children"]): Hdf5TreeGroup {
  return { kind: "group", attributes: { NX_class }, children };
}

function number(value: number, units?: string): Hdf5TreeDataset {
  return { kind: "dataset", data: Float64Array.of(value), ...(units !== undefined && { attributes: { units } }) };
}

interface Written {
  readonly monitor?: number;
  readonly thickness_mm?: number;
  /** Neutrons in the spot of the direct beam; absent: an even frame of 30 a pixel. */
  readonly spot?: number;
  readonly saturation?: number;
  readonly deadRows?: readonly number[];
}

/** A small NeXus run, with one thing wrong where a test wants it. */
async function write(name: string, { monitor = 1e6, thickness_mm, spot, saturation, deadRows = [] }: Written = {}) {
  const draw = poissonSource(name.length);
  const counts = Uint32Array.from({ length: SIDE * SIDE }, (_, p) => {
    const [x, y] = [p % SIDE, Math.floor(p / SIDE)];
    if (deadRows.includes(y)) return 0;
    return draw(spot === undefined ? 30 : 0.1 + (spot / 25) * Math.exp(-((x - 8) ** 2 + (y - 8) ** 2) / 8));
  });
  const frame: Hdf5TreeDataset = {
    kind: "dataset",
    data: counts,
    shape: [SIDE, SIDE],
    attributes: { units: "counts" },
  };
  const entry = group("NXentry", {
    instrument: group("NXinstrument", {
      detector: group("NXdetector", {
        data: frame,
        distance: number(4, "m"),
        x_pixel_size: number(5, "mm"),
        y_pixel_size: number(5, "mm"),
        beam_center_x: number(8, "pixel"),
        beam_center_y: number(8, "pixel"),
        count_time: number(600, "s"),
        ...(saturation !== undefined && { saturation_value: number(saturation, "counts") }),
      }),
      monochromator: group("NXmonochromator", { wavelength: number(6, "angstrom") }),
      attenuator: group("NXattenuator", { attenuator_transmission: number(0.01) }),
    }),
    control: group("NXmonitor", { integral: number(monitor, "counts") }),
    ...(thickness_mm !== undefined && { sample: group("NXsample", { thickness: number(thickness_mm, "mm") }) }),
  });
  writeFileSync(join(data, name), await writeHdf5(group("NXroot", { entry })));
}

beforeAll(async () => {
  mkdirSync(data);
  await write("sample.h5", { thickness_mm: 1 });
  await write("thin.h5", { thickness_mm: 0 });
  await write("stopped.h5", { monitor: 0, thickness_mm: 1 });
  await write("direct.h5", { spot: 50_000 });
  await write("bright.h5", { spot: 50_000, saturation: 1000 });
  await write("rows.h5", { deadRows: [3, 4] });
  await write("dead.h5", { deadRows: Array.from({ length: SIDE }, (_, y) => y) });
});

async function reduce(name: string, plan: Readonly<Record<string, unknown>>) {
  const file = join(data, `${name}.json`);
  writeFileSync(file, JSON.stringify({ planVersion: 1, outputs: ["csv"], ...plan }));
  const out = join(root, name);
  return { folder: out, ...(await halation(["reduce", file, "--out", out])) };
}

describe("inputs at fault, on the command line", () => {
  const absolute = { method: "direct-beam", directBeamRadius_px: 5 };
  it.each([
    ["no-transmission", { runs: { sample: "sample.h5", emptyCell: "rows.h5" } }, "corrections.transmission.emptyCell"],
    [
      "monitor",
      { runs: { sample: "stopped.h5" }, corrections: { normaliseBy: "monitor" } },
      "metadata.sample.monitorCounts",
    ],
    [
      "monitor-of-cell",
      {
        runs: { sample: "sample.h5", emptyCell: "stopped.h5" },
        corrections: { transmission: { sample: 0.7, emptyCell: 0.9 } },
      },
      "metadata.emptyCell.monitorCounts",
    ],
    [
      "thickness",
      { runs: { sample: "thin.h5", emptyBeam: "direct.h5" }, corrections: { absolute } },
      "metadata.sample.thickness_mm",
    ],
    [
      "saturated",
      { runs: { sample: "sample.h5", emptyBeam: "bright.h5" }, corrections: { absolute } },
      "saturated in the direct beam",
    ],
    ["flood", { runs: { sample: "sample.h5", flood: "dead.h5" } }, "it can't serve as a flood"],
  ])("%s: one sentence that says what to do, exit code 2, and nothing written", async (name, plan, named) => {
    const { code, error, folder } = await reduce(name, plan);
    expect([code, error]).toEqual([2, expect.stringContaining(named)]);
    expect(error.trim().split("\n")).toHaveLength(1);
    expect(existsSync(folder)).toBe(false);
  });

  it("a flood with dead rows goes through: its rows are masked, and summary and ledger say why", async () => {
    const { code, folder } = await reduce("rows", { runs: { sample: "sample.h5", flood: "rows.h5" } });
    expect(code).toBe(0);
    const { pixels } = JSON.parse(readFileSync(join(folder, "summary.json"), "utf8"));
    expect(pixels.maskedByReason.flood).toBe(2 * SIDE);
    const { steps } = JSON.parse(readFileSync(join(folder, "ledger.json"), "utf8"));
    expect(steps.find((entry: { step: string }) => entry.step === "flood").effect.pixelsMasked).toBe(2 * SIDE);
    expect(readFileSync(join(folder, "curves/radial.csv"), "utf8")).not.toMatch(/nan|inf/i);
  });

  it("a thickness of zero that nothing needs is left out with a warning", async () => {
    const { code, folder } = await reduce("thin", { runs: { sample: "thin.h5" } });
    const { warnings } = JSON.parse(readFileSync(join(folder, "summary.json"), "utf8"));
    expect([code, warnings.join()]).toEqual([0, expect.stringContaining("/entry/sample/thickness is 0 mm")]);
  });

  it("a monitor of zero without which the frame can still be read is named, and nothing is divided by it", async () => {
    const { code, folder } = await reduce("raw", { runs: { sample: "stopped.h5" } });
    const { warnings, intensityUnit } = JSON.parse(readFileSync(join(folder, "summary.json"), "utf8"));
    expect([code, warnings.join()]).toEqual([0, expect.stringContaining("/entry/control/integral is 0")]);
    expect(warnings).toContain("intensities are not normalised: no monitor count is known");
    expect(intensityUnit).toBe("counts/sr/cm");
  });
});
