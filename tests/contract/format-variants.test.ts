import { describe, expect, it } from "vitest";
import type { ReadChoice } from "../../core/formats/reader.ts";
import type { Run } from "../../core/model/frame.ts";
import { MASK_REASONS } from "../../core/model/mask.ts";
import { knownFrame } from "../support/known-frame.ts";
import { diskSource, fixture, messageOf, neverAborted, openSource, unwrap } from "../support/open-file.ts";

/**
 * The variants of each format that the trade writes, one a row: a file by an independent program (h5py, numpy, tifffile,
 * Pillow, ImageMagick) or by hand from the standard's text; see tests/support/scripts. tests/README.md lists what has no row.
 */
interface Cell {
  readonly file: string;
  readonly choice?: ReadChoice;
  /** Whole frames are compared: the known one, its first `rows`, each count changed. */
  readonly rows?: number;
  readonly frame?: number;
  readonly change?: (count: number) => number;
  /** What else is known. */
  readonly check?: (run: Run) => void | Promise<void>;
  /** Counts are another test's. */
  readonly onlyCheck?: boolean;
  readonly refused?: RegExp;
}

const u16 = (count: number) => count * 200;
const small = (count: number) => count % 100;
const store = (name: string): Cell => ({ file: "kinds.h5", choice: { dataset: `/stores/${name}` } });
const variant = (entry: string, rest: Omit<Cell, "file"> = {}): Cell => ({
  file: "nexus-variants.h5",
  choice: { entry },
  ...rest,
});
/** Events add up to the known frame modulo 10. */
const events = (entry: string, rest: Omit<Cell, "file"> = {}): Cell => ({
  file: "events.h5",
  choice: { entry },
  rows: 8,
  change: (count) => count % 10,
  ...rest,
});
const warns = (expected: RegExp) => async (run: Run) => {
  const read = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
  expect([...run.warnings, ...read.warnings].join("\n")).toMatch(expected);
};
const cell = (entry: string, rest: Omit<Cell, "file"> = {}): Cell => ({ file: "cells.h5", choice: { entry }, ...rest });
const shape = (expected: object) => (run: Run) => expect(run.banks[0]).toMatchObject(expected);
/** Columns are physical y: the picture is turned on the screen, counts stay as stored. */
const turned: Omit<Cell, "file"> = { check: shape({ width: 23, height: 37, transpose: true }), onlyCheck: true };
const distance = (run: Run) => expect(run.banks[0]!.metadata.distance?.value).toBeCloseTo(2.5, 12);
const centre = (x: number, y: number) => (run: Run) => {
  const found = run.banks[0]!.metadata.beamCentre?.value;
  expect(found?.[0]).toBeCloseTo(x, 12);
  expect(found?.[1]).toBeCloseTo(y, 12);
};
const mask =
  (expected: readonly number[], frame = 0) =>
  async (run: Run): Promise<void> => {
    const read = unwrap(await run.banks[0]!.readFrame(frame, neverAborted));
    expect(Array.from(read.mask.subarray(0, 4))).toEqual(expected);
    expect(read.mask.subarray(4).every((bits) => bits === 0)).toBe(true);
  };
const { gap, beamStop, file: fileReason, saturated } = MASK_REASONS;

const TABLE: Readonly<Record<string, Readonly<Record<string, Cell>>>> = {
  "HDF5 layout": {
    contiguous: store("contiguous"),
    compact: store("compact"),
    chunked: store("chunked"),
    "superblock 0, user block, big-endian": { file: "plain.h5" },
    "superblock 3": { file: "links/virtual.h5" },
    "an empty dimension": { file: "zero.h5", refused: /shape is 0 x 128/ },
    "2^62 pixels declared": { file: "huge.h5", refused: /declares 2147483648 x 2147483648 pixels/ },
    "announced, not yet written": {
      file: "unwritten-new.h5",
      choice: { dataset: "/growing_empty" },
      refused: /nothing was written to it, the file is not complete yet/,
    },
    "open for writing": { file: "being-written.h5", refused: /open for writing: it is not complete yet/ },
  },
  "HDF5 filters": {
    gzip: store("gzip"),
    "gzip and shuffle": store("shuffle"),
    "Fletcher-32": store("fletcher"),
    LZF: store("lzf"),
    LZ4: store("lz4"),
    "bitshuffle with LZ4": store("bitshuffle"),
    "scale-offset": store("scaleoffset"),
    unknown: { ...store("unknown"), refused: /filter 40404/ },
  },
  "HDF5 links": {
    hard: { file: "kinds.h5", choice: { dataset: "/links/hard" } },
    soft: { file: "kinds.h5", choice: { dataset: "/links/soft" } },
    "external, beside": { file: "links/external.h5" },
    "external, below, and on from there": { file: "links/external-below.h5" },
    "external, missing": { file: "links/external-missing.h5", refused: /no such file beside it/ },
    "external, outside": { file: "links/external-outside.h5", refused: /only to files inside the folder/ },
    virtual: { file: "links/virtual.h5" },
  },
  "default path": {
    "signal = 1": variant("signal_number"),
    "only in NXdetector": variant("only_detector"),
    "dangling @signal": variant("dangling"),
    "a curve as default": variant("curve_default"),
    "two that are equal": { file: "plain-two.h5", refused: /\/a \(23 x 37\), \/b \(23 x 37\)/ },
  },
  axes: {
    array: cell("axes_array", turned),
    "a:b": variant("x_first", turned),
    "a,b": cell("axes_comma", turned),
    "a b": cell("axes_blank", turned),
    "[a:b]": cell("axes_brackets", turned),
    "y before x": cell("axes_rows_first", { check: shape({ width: 37, height: 23, transpose: false }) }),
    "edges, one more than pixels": cell("axes_edges", { check: shape({ width: 37, height: 23, transpose: false }) }),
    "by length": variant("x_by_length", turned),
    "axis attribute, counted from the fastest": { file: "axis-attribute.h5", choice: { entry: "from_the_fastest" } },
    "axis attribute, counted from the slowest": { file: "axis-attribute.h5", choice: { entry: "from_the_slowest" } },
  },
  rank: {
    "3, frames": variant("stack", { frame: 3, change: (count) => count + 3000 }),
    "3, times of flight, edges": variant("tof", { frame: 2, change: (count) => count + 2000 }),
    "3, times of flight, centres": cell("tof_centres", {
      frame: 2,
      change: (count) => count + 2000,
      check: shape({ frames: 3, axis: { kind: "time" } }),
    }),
    "4": cell("rank_4", { frame: 5, change: (count) => count + 5000, check: shape({ frames: 6 }) }),
    // Frame 4 of 2 x 3: the second run, the second time.
    "4 with times of flight": cell("rank_4_tof", {
      frame: 4,
      change: (count) => count + 4000,
      check: shape({ frames: 6 }),
    }),
    "lengths of 1": variant("one_deep"),
    "pixels in a list, with detector_number": cell("list", { check: mask([0, gap, 0, beamStop]) }),
    "pixels in a list, a stack, with offsets": cell("list_frames", {
      frame: 4,
      change: (count) => count + 4000,
      check: shape({ width: 37, height: 23, frames: 6 }),
    }),
    "pixels in a list without a shape": cell("list_without_shape", { refused: /holds no frame .*its shape is 851/ }),
  },
  "single values": {
    "rank 0": cell("value_rank_0", { check: distance }),
    "(1)": cell("value_1", { check: distance }),
    "(1, 1), centimetres": cell("value_1_1", { check: distance }),
    "a number in a text": cell("value_text", { check: distance }),
    NXlog: cell("value_log", { check: distance }),
  },
  "beam centre": {
    millimetres: variant("centre_mm", { check: centre(18, 12) }),
    metres: cell("centre_m", { check: centre(18, 12) }),
    "no unit, pixels": variant("centre_bare_pixels", { check: centre(18, 12) }),
    "no unit, metres": variant("centre_bare_metres", { check: centre(18, 12) }),
    "no unit, millimetres": variant("centre_bare_mm", { check: centre(18, 12) }),
    "with its twin in pixels": variant("centre_twin", { check: centre(17, 13) }),
    negative: cell("centre_negative", { check: centre(-3.5, 12) }),
    "off the detector": cell("centre_off", { check: centre(400, 12) }),
    missing: cell("centre_missing", {
      check: (run) => expect(run.banks[0]!.metadata.beamCentre).toBeUndefined(),
    }),
  },
  mask: {
    "8 bits": cell("mask_8", { check: mask([0, gap, 0, 0]) }),
    "16 bits": cell("mask_16", { check: mask([0, gap, 0, beamStop]) }),
    "32 bits, bit 31 only informs": cell("mask_32", { check: mask([0, gap, 0, beamStop]) }),
    "32 bits, signed": cell("mask_32_signed", { check: mask([0, gap, 0, beamStop]) }),
    pixel_mask_2: cell("mask_two", { check: mask([0, gap, 0, beamStop]) }),
    "one a frame": cell("mask_frames", {
      check: async (run) => {
        await mask([0, 0, 0, 0], 0)(run);
        await mask([0, gap, 0, beamStop], 1)(run);
      },
    }),
    "negative flags": cell("flags", { check: mask([0, gap, fileReason, 0]), onlyCheck: true }),
    "saturation and underload": cell("limits", {
      async check(run) {
        const read = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
        const expected = knownFrame(23, (count) => (count > 200 ? saturated : count < 5 ? fileReason : 0));
        expect(Array.from(read.mask)).toEqual(expected);
      },
    }),
    "of another shape": variant("unfit_mask", { refused: /pixel_mask is 37 x 23/ }),
  },
  scaling: {
    "factor and offset": { file: "scaled.h5", onlyCheck: true, check: shape({ counting: false }) },
    "a list of factors": { file: "scaled-by-list.h5", refused: /not one finite number/ },
  },
  events: {
    "ids of 32 bits, signed": events("i4"),
    "ids of 32 bits": events("u4"),
    "ids of 64 bits, signed": events("i8"),
    "ids of 64 bits": events("u8"),
    "gaps in the numbering": events("gaps"),
    "inside the detector": events("inside", { check: shape({ name: "rear", path: expect.stringContaining("rear/") }) }),
    "pixels in a list": events("list"),
    "pixels in a list without a shape": events("list_without_shape", {
      refused: /no x_pixel_offset or y_pixel_offset/,
    }),
    "tubes in packs": events("tubes"),
    "ids of no pixel": events("unknown", { check: warns(/4 of 1\d\d\d events belong to no pixel of .*rear/) }),
    "no id of a pixel": events("all_unknown", { refused: /no event belongs to a pixel of .*rear/ }),
    "an event_index that can't be": events("wrong_index", { check: warns(/event_index\[0\] is 5; the first pulse/) }),
    "no detector_number": events("no_numbers", { refused: /no detector_number/ }),
    "no event": events("none", { change: () => 0, check: warns(/holds no event/) }),
    "times of flight": events("flight", {
      frame: 1,
      check: shape({
        frames: 3,
        axis: { kind: "time", unit: "s", values: Float64Array.of(0.001, 0.002, 0.004, 0.008) },
      }),
    }),
    "beside a frame, which is taken": events("beside_a_frame", {
      check: (run) => expect(run.notes.join()).toContain('rear_events holds events: count them with dataset "'),
    }),
    "beside a frame, asked for": events("beside_a_frame", {
      choice: { dataset: "/beside_a_frame/rear_events" },
      check: shape({ path: "/beside_a_frame/rear_events" }),
    }),
    "of a monitor": events("monitor", { check: (run) => expect(run.notes.join()).not.toContain("holds events") }),
    "more than 10^7": { file: "many-events.h5", rows: 8, change: (count) => (count % 10) * 9000 },
    "more than the file could hold": { file: "claimed-events.h5", refused: /declares 4398046511104 bytes of events/ },
  },
  TIFF: {
    ...Object.fromEntries(
      ["le", "be"].flatMap((order) => [
        [`u8 ${order}`, { file: `u8-${order}.tif`, rows: 8 }],
        [`u16 ${order}`, { file: `u16-${order}.tif`, rows: 8, change: u16 }],
        [`u32 ${order}`, { file: `u32-${order}.tif`, rows: 8, change: (count: number) => count * 1e7 }],
        [`i8 ${order}`, { file: `i8-${order}.tif`, rows: 8, change: (count: number) => (count % 100) - 50 }],
        [`i16 ${order}`, { file: `i16-${order}.tif`, rows: 8, change: (count: number) => count * 100 - 9000 }],
        [`i32 ${order}`, { file: `i32-${order}.tif`, rows: 8, change: (count: number) => count * 1e6 - 1e8 }],
        [`LZW ${order}`, { file: `magick-lzw-${order}.tif`, change: u16 }],
        [`Deflate ${order}`, { file: `magick-zip-${order}.tif`, change: u16 }],
      ]),
    ),
    PackBits: { file: "pillow-packbits.tif", change: u16 },
    "predictor 2": { file: "pillow-lzw-predictor.tif", change: u16 },
    strips: { file: "strips.tif", change: u16 },
    tiles: { file: "tiles.tif", change: u16 },
    BigTIFF: { file: "big.tif", change: u16 },
    "several pages": { file: "pages.tif", frame: 2, change: (count) => count + 2000 },
    ...Object.fromEntries(
      [
        ["top-down", false],
        ["top-down", false],
        ["bottom-up", false],
        ["bottom-up", false],
        ["top-down", true],
        ["top-down", true],
        ["bottom-up", true],
        ["bottom-up", true],
      ].map(([rowOrder, transpose], i) => [
        `orientation ${i + 1}`,
        { file: `turned-${i + 1}.tif`, check: shape({ rowOrder, transpose }) },
      ]),
    ),
    RGB: { file: "rgb.tif", refused: /this is a picture/ },
    JPEG: { file: "jpeg.tif", refused: /JPEG/ },
  },
  CBF: {
    "differences of 1 to 8 bytes, CR LF": {
      file: "jumps.cbf",
      onlyCheck: true,
      check: shape({ width: 37, height: 8 }),
    },
    LF: { file: "unix.cbf", rows: 8 },
    unpacked: { file: "plain.cbf", rows: 8 },
    BASE64: { file: "base64.cbf", rows: 8 },
    "two sections": { file: "two.cbf", rows: 8, frame: 1 },
    packed: { file: "packed.cbf", refused: /packed as x-cbf_packed/ },
  },
  "NPY and NPZ": {
    ...Object.fromEntries(
      ["u1", "i1", "u2", "i2", "u4", "i4", "u8", "i8", "f2", "f4", "f8"].map((code) => [
        code,
        { file: `${code}.npy`, rows: 8, change: small },
      ]),
    ),
    booleans: { file: "b1.npy", rows: 8, change: (count) => (count > 100 ? 1 : 0) },
    "big-endian": { file: "big-endian.npy" },
    Fortran: { file: "fortran.npy" },
    "version 2": { file: "version-2.npy" },
    "version 3": { file: "version-3.npy" },
    "3D": { file: "stack.npy", frame: 1, change: (count) => count + 1000 },
    objects: { file: "object.npy", refused: /object arrays are not read/ },
    complex: { file: "complex.npy", refused: /complex numbers are not read/ },
    structured: { file: "structured.npy", refused: /structured/ },
    "NPZ stored": { file: "stored.npz" },
    "NPZ deflated": { file: "deflated.npz" },
  },
  text: {
    blanks: { file: "matrix.txt", rows: 8 },
    "commas, exponents": { file: "exponents.csv", rows: 8, change: (count) => count / 4 },
  },
  containers: {
    gzip: { file: "u2.npy.gz", rows: 8, change: small },
    "gzip of several members": { file: "members.npy.gz", rows: 8, change: small },
    "zip, deflated": { file: "frame.zip", rows: 8 },
    "zip, stored": { file: "several.zip", choice: { entry: "a.tif" }, rows: 8 },
    ZIP64: { file: "zip64.zip", rows: 8, change: small },
    "HDF5 in gzip": { file: "frame.h5.gz" },
    "two deep": { file: "nested-2.zip.gz", rows: 8 },
    "three deep": { file: "nested-3.zip.gz.gz", refused: /more than 2 containers/ },
    "that grows without end": { file: "bomb.gz", refused: /unpacks to more than/ },
    "of nothing": { file: "nothing.gz", refused: /empty \(0 bytes\)/ },
  },
};

describe.each(Object.entries(TABLE))("%s", (_, cells) => {
  it.each(Object.entries(cells))("%s", async (_name, { file, choice = {}, refused, ...known }) => {
    const opened = await openSource(diskSource(fixture(file)), choice);
    if (refused !== undefined && !opened.ok) {
      expect(messageOf(opened)).toMatch(refused);
      return;
    }
    const run = unwrap(opened);
    try {
      const { rows = 23, frame = 0, change, check, onlyCheck = false } = known;
      await check?.(run);
      if (onlyCheck) return;
      const read = await run.banks[0]!.readFrame(frame, neverAborted);
      if (refused === undefined) expect(Array.from(unwrap(read).counts)).toEqual(knownFrame(rows, change));
      else expect(messageOf(read)).toMatch(refused);
    } finally {
      run.close();
    }
  });
});
