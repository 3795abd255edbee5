import { execFileSync } from "node:child_process";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import type { Hdf5TreeGroup } from "../../core/formats/hdf5/write-tree.ts";
import { npyBytes } from "../../core/report/npy.ts";
import { openHdf5 } from "../../electron/services/open-hdf5.ts";
import { openRunFile } from "../../electron/services/run-source.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../support/open-file.ts";
import { temporaryFolder } from "../support/temporary-folder.ts";

// What a person is told of files that are no frames, where no other test of the readers looks at the sentence.

const text = (content: string) => new TextEncoder().encode(content);
const fault = async (name: string, bytes: Uint8Array<ArrayBuffer>) => messageOf(await openBytes(name, bytes));
const group = (nxClass: string, children: Hdf5TreeGroup["children"]): Hdf5TreeGroup => ({
  kind: "group",
  attributes: { NX_class: nxClass },
  children,
});

describe("by its first bytes", () => {
  it.each(["frame.h5", "frame.tif", "frame.cbf", "frame.npy", "frame.zip", "frame.gz", "frame.txt", "frame"])(
    "an empty %s",
    async (name) => {
      expect(await fault(name, new Uint8Array())).toBe(`${name} is empty (0 bytes)`);
    },
  );

  it("a name that promises another format shows what is there in hex", async () => {
    const bytes = Uint8Array.of(0, 1, 0xfe, 3, 4, 5, 6, 7, 8, 9);
    expect(await fault("frame.h5", bytes)).toMatch(
      /^frame\.h5 is named \.h5 but does not start like HDF5.*\(it starts with 00 01 fe 03 04 05 06 07\)/,
    );
    expect(await fault("frame", bytes)).toContain("is of no format that is read here");
    expect(await fault("frame.hdf", Uint8Array.of(0x0e, 3, 0x13, 1, 0, 0))).toContain("HDF4, which is not supported");
  });
});

describe("cut off", () => {
  it.each(["u2.npy.gz", "frame.zip", "strips.tif", "jumps.cbf", "u2.npy", "plain.h5"])("%s says so", async (name) => {
    const bytes = fixtureBytes(name);
    const opened = await openBytes(name, bytes.slice(0, bytes.length - 40));
    // What stands last in a TIFF may be pixels: then opening still goes well.
    const read = opened.ok ? await opened.value.banks[0]!.readFrame(0, neverAborted) : opened;
    expect(messageOf(read)).toMatch(/ends at|cut off|holds \d+|data end|end early/);
  });

  it("XML says so", async () => {
    const xml = `<?xml version="1.0"?><SASroot version="1.1" xmlns="urn:cansas1d:1.1"><SASentry><Title>t</Title><Run/>`;
    const opened = await openCurves(bytesSource("cut.xml", text(xml)), { signal: neverAborted, openHdf5 });
    expect(messageOf(opened)).toMatch(/cut\.xml.*(end|closed|SASentry)/i);
  });
});

describe("values", () => {
  it("that are all not finite leave no usable pixel, and say so", async () => {
    const values = Float64Array.of(Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NaN);
    const run = unwrap(await openBytes("nan.npy", npyBytes(values, { width: 2, height: 2 })));
    const { warnings } = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    expect(warnings).toContain("4 pixels are not finite numbers: masked");
    expect(warnings.join()).toContain("no usable pixel");
  });

  it("below zero are kept where they are no counts", async () => {
    const values = Float64Array.of(-1, 2.5, -2, 0);
    const run = unwrap(await openBytes("less.npy", npyBytes(values, { width: 2, height: 2 })));
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    expect(run.banks[0]!.counting).toBe(false);
    expect(Array.from(frame.counts)).toEqual([-1, 2.5, -2, 0]);
    expect(Array.from(frame.mask)).toEqual([0, 0, 0, 0]);
  });

  it("of a pixel size that fits no side are not taken, and that is said", async () => {
    const detector = group("NXdetector", {
      data: { kind: "dataset", data: new Int32Array(400).fill(3), shape: [20, 20] },
      x_pixel_size: { kind: "dataset", data: Float64Array.of(1, 2, 3), attributes: { units: "mm" } },
      y_pixel_size: { kind: "dataset", data: Float64Array.of(1), attributes: { units: "mm" } },
    });
    const root = group("NXroot", { entry: group("NXentry", { instrument: group("NXinstrument", { detector }) }) });
    const run = unwrap(await openBytes("sizes.h5", await writeHdf5(root)));
    expect(run.banks[0]!.metadata.pixelSize).toBeUndefined();
    expect(run.warnings.join()).toContain("x_pixel_size (3) fits neither one pixel size nor one a pixel: not taken");
    run.close();
  });
});

describe("on disk", () => {
  const folder = temporaryFolder();
  const open = (path: string) => openRunFile(path, {}, neverAborted);

  it("a folder, a pipe and what is not there are named, and nothing waits", async () => {
    mkdirSync(join(folder, "frames.h5"));
    execFileSync("mkfifo", [join(folder, "pipe.h5")]);
    expect(messageOf(await open(join(folder, "frames.h5")))).toMatch(/frames\.h5 is a folder: name a file/);
    expect(messageOf(await open(join(folder, "pipe.h5")))).toMatch(/pipe\.h5 is no file: name a file/);
    expect(messageOf(await open(join(folder, "gone.h5")))).toMatch(/gone\.h5/);
  });

  it.each(["two  blanks.h5", "Größe µ 測定.h5", "-leading.h5", `${"n".repeat(252)}.h5`])("%s opens", async (name) => {
    writeFileSync(join(folder, name), fixtureBytes("plain.h5"));
    const run = unwrap(await open(join(folder, name)));
    expect(run.banks[0]).toMatchObject({ width: 37, height: 23 });
    run.close();
  });
});
