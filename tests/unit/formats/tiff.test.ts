import { describe, expect, it } from "vitest";
import { decodeLzw } from "../../../core/formats/tiff/lzw.ts";
import { knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../../support/open-file.ts";

const open = async (name: string) => unwrap(await openBytes(name, fixtureBytes(name)));
const counts = async (name: string, frame = 0) =>
  Array.from(unwrap(await (await open(name)).banks[0]!.readFrame(frame, neverAborted)).counts);
const f32 = (count: number) => count / 8 - 3;
const u16 = (count: number) => count * 200;

// Written by tifffile, by Pillow over libtiff, and by ImageMagick.
describe("TIFF pages", () => {
  const kinds: [string, (count: number) => number][] = [
    ["u8", (count) => count],
    ["u16", u16],
    ["u32", (count) => count * 1e7],
    ["i8", (count) => (count % 100) - 50],
    ["i16", (count) => count * 100 - 9000],
    ["i32", (count) => count * 1e6 - 1e8],
    ["f32", f32],
    ["f64", (count) => f32(count) / 3],
  ];
  it.each(kinds)("of type %s in both byte orders", async (name, value) => {
    for (const order of ["le", "be"]) expect(await counts(`${name}-${order}.tif`)).toEqual(knownFrame(8, value));
  });

  it.each([
    "big",
    "tiles",
    "strips",
    "pillow-lzw",
    "pillow-packbits",
    "pillow-deflate",
    "pillow-lzw-predictor",
    "pillow-deflate-predictor",
    "magick-lzw-le",
    "magick-lzw-be",
    "magick-zip-le",
    "magick-zip-be",
  ])("%s", async (name) => {
    expect(await counts(`${name}.tif`)).toEqual(knownFrame(23, u16));
  });

  it("with deflated 32-bit strips and with the predictor for floats", async () => {
    expect(await counts("zlib.tif")).toEqual(knownFrame(23, (count) => count * 1e7));
    expect(await counts("pillow-f32-predictor3.tif")).toEqual(knownFrame(23, f32));
  });

  it("of one size are a stack", async () => {
    const run = await open("pages.tif");
    expect(run.banks[0]).toMatchObject({ width: 37, height: 23, frames: 3, counting: true, rowOrder: "top-down" });
    expect(await counts("pages.tif", 2)).toEqual(knownFrame(23, (count) => count + 2000));
  });

  it("keep their stored order and carry the orientation", async () => {
    expect((await open("orientation4.tif")).banks[0]).toMatchObject({ rowOrder: "bottom-up", transpose: false });
    expect((await open("orientation6.tif")).banks[0]).toMatchObject({ rowOrder: "top-down", transpose: true });
    expect(await counts("orientation4.tif")).toEqual(knownFrame(23, u16));
  });

  it("that are pictures are refused", async () => {
    expect(messageOf(await openBytes("rgb.tif", fixtureBytes("rgb.tif")))).toContain("this is a picture");
  });

  it("show the resolution and don't take it", async () => {
    const run = await open("pillow-lzw.tif");
    expect(run.banks[0]!.metadata.pixelSize).toBeUndefined();
  });
});

describe("damaged TIFF", () => {
  it.each(["strips.tif", "pillow-lzw.tif", "tiles.tif", "big.tif", "pages.tif"])(
    "%s cut at half says where",
    async (name) => {
      const bytes = fixtureBytes(name);
      expect(messageOf(await openBytes(name, bytes.slice(0, bytes.length >> 1)))).toMatch(
        /the file ends at|ends at byte/,
      );
    },
  );

  it("is found by a flipped byte in deflated data", async () => {
    const bytes = fixtureBytes("zlib.tif");
    let found = 0;
    for (let at = 600; at < bytes.length; at += 97) {
      const changed = bytes.slice();
      changed[at]! ^= 0x10;
      const run = await openBytes("flip.tif", changed);
      const frame = run.ok ? await run.value.banks[0]!.readFrame(0, neverAborted) : run;
      if (!frame.ok) found++;
      else expect(Array.from(frame.value.counts)).toEqual(knownFrame(23, (count) => count * 1e7));
    }
    expect(found).toBeGreaterThan(3);
  });

  it("with a page chain that loops ends", async () => {
    const bytes = fixtureBytes("u8-le.tif");
    const view = new DataView(bytes.buffer);
    const first = view.getUint32(4, true);
    view.setUint32(first + 2 + 12 * view.getUint16(first, true), first, true);
    expect(messageOf(await openBytes("loop.tif", bytes))).toContain(`the page chain loops at offset ${first}`);
  });

  it("with an absurd size costs nothing", async () => {
    const bytes = fixtureBytes("u8-le.tif");
    const view = new DataView(bytes.buffer);
    const first = view.getUint32(4, true);
    for (let entry = 0; entry < view.getUint16(first, true); entry++) {
      const at = first + 2 + 12 * entry;
      const tag = view.getUint16(at, true);
      if (tag !== 256 && tag !== 257) continue;
      view.setUint16(at + 2, 4, true);
      view.setUint32(at + 8, 0x7fffffff, true);
    }
    expect(messageOf(await openBytes("huge.tif", bytes))).toContain("declares 2147483647 x 2147483647 pixels");
  });
});

describe("LZW", () => {
  // The worked example of TIFF 6.0, section 13: codes 256 7 258 8 8 258 6 6 257 for 7 7 7 8 8 7 7 6 6.
  const codes = [256, 7, 258, 8, 8, 258, 6, 6, 257];
  const packed = (() => {
    const bits = codes.map((code) => code.toString(2).padStart(9, "0")).join("");
    return Uint8Array.from({ length: Math.ceil(bits.length / 8) }, (_, i) =>
      Number.parseInt(bits.slice(8 * i, 8 * i + 8).padEnd(8, "0"), 2),
    );
  })();

  it("unpacks the standard's example", () => {
    expect(Array.from(decodeLzw(packed, 9))).toEqual([7, 7, 7, 8, 8, 7, 7, 6, 6]);
  });

  it("stops at the limit, at a code without meaning and at an early end", () => {
    expect(() => decodeLzw(packed, 8)).toThrow("more than 8 bytes");
    expect(() => decodeLzw(packed.slice(0, 4), 9)).toThrow("end after");
    expect(() => decodeLzw(Uint8Array.of(0xff, 0xff, 0xff), 9)).toThrow("no meaning");
  });
});
