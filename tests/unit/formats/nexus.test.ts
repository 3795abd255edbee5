import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { describeRun } from "../../../core/formats/describe.ts";
import { reasonsOf } from "../../../core/formats/nexus/detector-mask.ts";
import type { Run } from "../../../core/model/frame.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { KNOWN, knownCount, knownFrame } from "../../support/known-frame.ts";
import {
  diskSource,
  fixture,
  messageOf,
  neverAborted,
  openBytes,
  openSource,
  unwrap,
} from "../../support/open-file.ts";
import { hasShared, sharedFile } from "../../support/shared-data.ts";

const variant = async (entry: string): Promise<Run> =>
  unwrap(await openSource(diskSource(fixture("nexus-variants.h5")), { entry }));
const countsOf = async (run: Run, frame = 0, bank = 0) =>
  Array.from(unwrap(await run.banks[bank]!.readFrame(frame, neverAborted)).counts);

describe("a file of the definition NXsas", () => {
  const open = async () => unwrap(await openSource(diskSource(fixture("nexus-standard.h5"))));

  it("is understood with its units, each value with its path", async () => {
    const run = await open();
    const seen = unwrap(await describeRun(run, neverAborted));
    run.close();
    const value = (key: string) => seen.metadata[key]?.value;
    expect({
      wavelength: value("wavelength_A"),
      spread: value("wavelengthSpread"),
      distance: value("distance_m"),
      pixelSize: value("pixelSize_mm"),
      centre: value("beamCentre_px"),
      monitor: value("monitorCounts"),
      time: value("countTime_s"),
      source: value("sourceAperture_mm"),
      sample: value("sampleAperture_mm"),
      collimation: value("collimation_m"),
      attenuation: value("attenuation"),
      thickness: value("thickness_mm"),
      deadTime: value("deadTime_s"),
      title: value("title"),
      name: value("sampleName"),
      run: value("runNumber"),
      instrument: value("instrument"),
    }).toEqual({
      wavelength: 6,
      spread: 0.1,
      distance: 4.5,
      pixelSize: [5.5, 4.25],
      centre: [18.25, 11.5],
      monitor: 1_000_123,
      time: 600,
      source: 20,
      sample: 8,
      collimation: 4,
      attenuation: 0.01,
      thickness: 1,
      deadTime: 2e-6,
      title: "Spheres in water",
      name: "silica 5 %",
      run: "4711",
      instrument: "Lantern",
    });
    expect(seen.metadata["monitorCounts"]).toMatchObject({ from: "/entry/control/integral" });
    expect(seen.metadata["monitorCounts"]).not.toHaveProperty("guessed");
    expect(seen.alternatives["monitorCounts"]).toMatchObject([{ value: 1_000_000, from: "/entry/monitor_2/integral" }]);
    expect(seen.missing).toEqual([]);
    expect(seen.banks).toMatchObject([{ width: 37, height: 23, frames: 1, axis: "none", transpose: false }]);
    expect(seen.notes[0]).toContain(
      "frame: /entry/instrument/detector/data, found by @default and @signal at /entry/data/data",
    );
  });

  it("turns flags, saturation and the file's masks into mask bits with their reasons", async () => {
    const run = await open();
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    run.close();
    const { gap, file, saturated, dead, hot, beamStop } = MASK_REASONS;
    const bits = (x: number, y: number) => frame.mask[y * KNOWN.width + x];
    expect([bits(0, 0), bits(1, 0), bits(0, 1), bits(1, 1)]).toEqual([gap, file, saturated, 0]);
    // pixel_mask 1, 2, 8, 256, 2^31 (information only), 2^15 (a reason without a name); pixel_mask_2 has 16 on the first.
    expect([0, 1, 2, 3, 4, 5].map((x) => bits(x, 2))).toEqual([gap | hot, dead, hot, beamStop, 0, file]);
    expect(frame.warnings.join("; ")).toContain("-1 in 1 pixels, -2 in 1 pixels");
    expect(frame.warnings.join("; ")).toContain("1 pixels above the saturation value 50000");
    // All other pixels are as written: the sum without the flags and the saturated one.
    let sum = 0;
    for (let p = 0; p < frame.counts.length; p++) if (frame.mask[p] === 0) sum += frame.counts[p]!;
    const masked = [
      [0, 0],
      [1, 0],
      [0, 1],
      [0, 2],
      [1, 2],
      [2, 2],
      [3, 2],
      [5, 2],
    ] as const;
    const expected = knownFrame().reduce((a, b) => a + b, 0) - masked.reduce((a, [x, y]) => a + knownCount(x, y), 0);
    expect(sum).toBe(expected);
  });

  it("reads every bit of a pixel mask by the standard's table", () => {
    expect(reasonsOf(0)).toBe(0);
    expect(reasonsOf(0x7fff0000)).toBe(0);
    expect(reasonsOf(-2147483648)).toBe(0);
    expect(reasonsOf(1 << 6)).toBe(MASK_REASONS.file);
    expect(reasonsOf(0b10001)).toBe(MASK_REASONS.gap | MASK_REASONS.hot);
  });
});

describe("finding the frame", () => {
  it.each([
    ["signal_number", "signal = 1 in a group of class NXdata"],
    ["only_detector", 'field "counts" of an NXdetector'],
    ["dangling", 'field "data" of an NXdetector'],
    ["curve_default", 'field "data" of an NXdetector'],
  ])("in %s by %s", async (entry, rule) => {
    const run = await variant(entry);
    expect(run.notes.find((note) => note.startsWith("frame:"))).toContain(rule);
    expect(await countsOf(run)).toEqual(knownFrame());
    run.close();
  });

  it("notes a signal that is not there and a default that is no image", async () => {
    const dangling = await variant("dangling");
    expect(dangling.notes.join("; ")).toContain('@signal of /dangling/plot names "nothing", which is not there');
    const curve = await variant("curve_default");
    expect(curve.notes.join("; ")).toContain(
      "/curve_default/plot/I (@default and @signal) is passed over: its shape is 50",
    );
    dangling.close();
    curve.close();
  });

  it("says which entry it took of several, and takes the one asked for", async () => {
    const run = unwrap(await openSource(diskSource(fixture("nexus-variants.h5"))));
    expect(run.notes.join("; ")).toContain("entry /bad_units taken of /bad_units, /centre_bare_metres");
    run.close();
    expect(messageOf(await openSource(diskSource(fixture("nexus-variants.h5")), { entry: "none such" }))).toContain(
      'no entry "none such"; it has',
    );
  });

  it("opens the dataset asked for", async () => {
    const run = unwrap(
      await openSource(diskSource(fixture("nexus-variants.h5")), {
        dataset: "/only_detector/instrument/detector/counts",
      }),
    );
    expect(await countsOf(run)).toEqual(knownFrame());
    run.close();
    const bad = await openSource(diskSource(fixture("nexus-variants.h5")), { dataset: "/curve_default/plot/I" });
    expect(messageOf(bad)).toContain("is not a numeric dataset of rank 2 or more");
  });
});

describe("axes and rank", () => {
  it("marks a frame stored with x along its rows, by axis names or lengths", async () => {
    for (const entry of ["x_first", "x_by_length"]) {
      const run = await variant(entry);
      expect(run.banks[0]).toMatchObject({ width: 23, height: 37, transpose: true });
      // Array coordinates: the column is physical y.
      expect(run.banks[0]!.metadata.pixelSize?.value).toEqual([0.00425, 0.0055]);
      if (entry === "x_first") expect(run.banks[0]!.metadata.beamCentre?.value).toEqual([11.5, 18.25]);
      run.close();
    }
  });

  it("reads a stack frame by frame", async () => {
    const run = await variant("stack");
    expect(run.banks[0]).toMatchObject({ width: 37, height: 23, frames: 4, axis: { kind: "frame" } });
    expect(await countsOf(run, 2)).toEqual(knownFrame(23, (count) => count + 2000));
    expect(messageOf(await run.banks[0]!.readFrame(4, neverAborted))).toContain("frames 0 to 3");
    expect(run.metadata.countTime).toMatchObject({ value: 1, guessed: true });
    run.close();
  });

  it("takes a last axis of flight times as the stack", async () => {
    const run = await variant("tof");
    const bank = run.banks[0]!;
    expect(bank).toMatchObject({ width: 37, height: 23, frames: 4, axis: { kind: "time", unit: "s" } });
    expect(Array.from(bank.axis.values!)).toEqual([0, 1e-5, 2e-5, 3e-5, 4e-5].map((t) => expect.closeTo(t, 15)));
    expect(await countsOf(run, 3)).toEqual(knownFrame(23, (count) => count + 3000));
    run.close();
  });

  it("drops dimensions of length 1 and reads 64-bit counts", async () => {
    const run = await variant("one_deep");
    expect(run.banks[0]).toMatchObject({ width: 37, height: 23, frames: 1, counting: true });
    expect(await countsOf(run)).toEqual(knownFrame());
    run.close();
  });

  it("keeps banks apart, each with its distance", async () => {
    const run = await variant("two_banks");
    expect(
      run.banks.map(({ name, width, height, metadata }) => [name, width, height, metadata.distance?.value]),
    ).toEqual([
      ["detector", 37, 23, 2],
      ["rear", 30, 20, 9],
    ]);
    expect((await countsOf(run, 0, 1))[31]).toBe(knownCount(1, 1) + 1);
    run.close();
  });

  it("takes errors as variance and masks what is not a number", async () => {
    const run = await variant("floats");
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    run.close();
    expect(run.banks[0]!.counting).toBe(false);
    expect(frame.variance?.every((v) => v === 0.25)).toBe(true);
    expect(frame.mask[0]).toBe(MASK_REASONS.notFinite);
    expect(frame.warnings.join()).toContain("not finite");
  });
});

describe("the recorded beam centre", () => {
  // Pixels of 5.5 x 4.25 mm: 99 mm is 18 columns, 51 mm is 12 rows.
  it.each([
    ["centre_mm", [18, 12], undefined],
    ["centre_bare_pixels", [18, 12], true],
    ["centre_bare_metres", [18, 12], true],
    ["centre_bare_mm", [18, 12], true],
    ["centre_twin", [17, 13], undefined],
  ])("of %s is %j", async (entry, centre, guessed) => {
    const run = await variant(entry);
    const found = run.banks[0]!.metadata.beamCentre;
    run.close();
    expect(found?.value[0]).toBeCloseTo(centre[0]!, 12);
    expect(found?.value[1]).toBeCloseTo(centre[1]!, 12);
    expect(found?.guessed).toBe(guessed);
  });

  it("that lies on the frame only when swapped is pointed out, not changed", async () => {
    const run = await variant("centre_swapped");
    run.close();
    expect(run.banks[0]!.metadata.beamCentre?.value).toEqual([5, 30]);
    expect(run.notes.join("; ")).toContain('try "transpose"');
  });
});

describe("values that can't be taken", () => {
  it("are shown with the reason, and stay missing", async () => {
    const run = await variant("bad_units");
    run.close();
    expect(run.banks[0]!.metadata.distance).toBeUndefined();
    expect(run.warnings.join("; ")).toContain('unit "furlong" is not a length');
    expect(run.banks[0]!.metadata.pixelSize).toBeUndefined();
    expect(run.alternatives["pixelSize"]).toMatchObject([{ value: 5.5, note: "no unit: not taken" }, { value: 5.5 }]);
    // A number in a text is a number; a bare time is in seconds.
    expect(run.metadata.countTime).toMatchObject({ value: 12.5, note: "no unit: taken as s" });
  });

  it("a mask of another shape is a fault that names both", async () => {
    const message = messageOf(await openSource(diskSource(fixture("nexus-variants.h5")), { entry: "unfit_mask" }));
    expect(message).toContain("pixel_mask is 37 x 23; the frame is 23 x 37");
  });

  it("a neutron energy gives the wavelength", async () => {
    const run = await variant("energy");
    run.close();
    // 81.80421 / lambda^2: 2.2723 meV is a wavelength of 6.0001 angstrom (CODATA constants, hand calculation).
    expect(run.metadata.wavelength?.value).toBeCloseTo(6.0001, 3);
  });
});

describe("files without a frame", () => {
  const SKELETONS = ["data/generated/NXsas.hdf5", "data/generated/NXsastof.hdf5"];
  it.skipIf(!SKELETONS.every(hasShared)).each(SKELETONS)("%s holds scalars only", async (name) => {
    expect(messageOf(await openSource(diskSource(sharedFile(name))))).toContain("holds no frame of rank 2 or more");
  });

  it("plain HDF5 with one image opens behind a user block, and two are asked about", async () => {
    const run = unwrap(await openSource(diskSource(fixture("plain.h5"))));
    expect(run.format).toBe("hdf5");
    expect(await countsOf(run)).toEqual(knownFrame());
    run.close();
    const message = messageOf(await openSource(diskSource(fixture("plain-two.h5"))));
    expect(message).toContain("/a (23 x 37), /b (23 x 37)");
    const chosen = unwrap(await openSource(diskSource(fixture("plain-two.h5")), { dataset: "b" }));
    expect(await countsOf(chosen)).toEqual(knownFrame());
    chosen.close();
  });
});

describe("a detector placed by transformations", () => {
  it("has the distance to its plane along the beam, and its tilt", async () => {
    const run = await variant("moved");
    run.close();
    // Turned by 30 degrees about y at the origin, then moved to (0.1, 0, 4.5) m: the plane with normal (1/2, 0, sqrt(3)/2)
    // through that point meets the beam at z = 4.5 + 0.1 tan(30 deg).
    const { distance, tilt } = run.banks[0]!.metadata;
    expect(distance?.value).toBeCloseTo(4.5 + 0.1 * Math.tan(Math.PI / 6), 12);
    expect(distance?.from).toBe("/moved/instrument/detector/depends_on");
    expect(tilt?.value[0]).toBeCloseTo(0, 12);
    expect(tilt?.value[1]).toBeCloseTo(Math.PI / 6, 12);
  });

  it("in a loop is told, and the frame still opens", async () => {
    const run = await variant("looped");
    run.close();
    expect(run.warnings.join("; ")).toContain("depends_on of /looped/instrument/detector runs in a loop at");
    expect(run.banks[0]!.metadata.distance).toBeUndefined();
  });

  it("tells which corrections were applied before, and no others", async () => {
    const run = await variant("corrected");
    run.close();
    expect(run.warnings.join("; ")).toContain("flatfield_applied is 1: the flood correction was applied before");
    expect(run.warnings.join("; ")).not.toContain("countrate");
  });
});

describe("hostile HDF5", () => {
  const fault = async (name: string) => messageOf(await openSource(diskSource(fixture(name))));
  it("of 2^62 pixels in half a kilobyte is refused by its size", async () => {
    expect(await fault("huge.h5")).toContain("declares 2147483648 x 2147483648 pixels; the limit is 67108864");
  });

  it("with a dimension of 0 or nested without end is refused in words", async () => {
    expect(await fault("zero.h5")).toContain("its shape is 0 x 128");
    expect(await fault("deep.h5")).toContain("holds no frame of rank 2 or more; nested deeper than 32 groups at /g/g");
  });
});

it("a heap of texts without end is refused before the library would walk it for ever", async () => {
  const bytes = new Uint8Array(readFileSync(fixture("nexus-standard.h5")));
  const heap = bytes.findIndex(
    (byte, i) => byte === 0x47 && bytes[i + 1] === 0x43 && bytes[i + 2] === 0x4f && bytes[i + 3] === 0x4c,
  );
  expect(heap).toBeGreaterThan(0);
  for (const [at, size] of [
    [heap + 16, 0n],
    [heap + 24, 2n ** 63n],
  ] as const) {
    const damaged = bytes.slice();
    damaged.fill(0, at, heap + 32);
    new DataView(damaged.buffer).setBigUint64(heap + 24, size, true);
    expect(messageOf(await openBytes("endless.h5", damaged))).toContain(`the heap of texts at byte ${heap} don't fit`);
  }
  const boastful = bytes.slice();
  new DataView(boastful.buffer).setBigUint64(heap + 8, 2n ** 31n, true);
  expect(messageOf(await openBytes("boastful.h5", boastful))).toContain(`the heap of texts at byte ${heap} don't fit`);
});
