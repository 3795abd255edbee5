import { readFileSync, writeFileSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import h5wasm from "h5wasm/node";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import type { Hdf5File } from "../../../core/formats/hdf5/hdf5-file.ts";
import { openHdf5 } from "../../../electron/services/open-hdf5.ts";
import { knownFrame } from "../../support/known-frame.ts";
import { diskSource, fixture, fixtureBytes, messageOf, unwrap } from "../../support/open-file.ts";

let file: Hdf5File;
beforeAll(async () => {
  file = unwrap(await openHdf5(diskSource(fixture("kinds.h5"))));
});
afterAll(() => file.close());

describe("element types", () => {
  it.each(["u1", "u2", "u4", "u8", "f2", "f4", "f8"])("reads %s in both byte orders", (code) => {
    for (const order of ["le", "be"])
      expect(Array.from(unwrap(file.read(`/types/${order}_${code}`)))).toEqual(
        code.startsWith("u") ? [0, 1, 100, 7] : [0, 1, 100, -3],
      );
  });

  it.each(["i1", "i2", "i4", "i8"])("keeps the sign of %s", (code) => {
    for (const order of ["le", "be"])
      expect(Array.from(unwrap(file.read(`/types/${order}_${code}`)))).toEqual([0, 1, 100, -3]);
  });

  it("reads booleans as 0 and 1 and calls them so", () => {
    expect(unwrap(file.node("/types/bool"))).toMatchObject({ type: "boolean", shape: [3] });
    expect(Array.from(unwrap(file.read("/types/bool")))).toEqual([1, 0, 1]);
  });

  it("reads half floats exactly: subnormal, largest, infinite, not a number", () => {
    // 1.0 * 2^-24 is the smallest half (IEEE 754); 65504 the largest.
    expect(Array.from(unwrap(file.read("/types/halves")))).toEqual([2 ** -24, 1.5, -65504, Infinity, NaN, 2 ** -10]);
  });

  it("refuses a count beyond 2^53 rather than change it", () => {
    expect(messageOf(file.read("/types/beyond"))).toContain("/types/beyond[1] is 9007199254740993, beyond 2^53");
  });

  it("refuses compound values and finds nothing in a null dataspace", () => {
    expect(messageOf(file.read("/types/compound"))).toContain("compound");
    expect(unwrap(file.node("/types/null"))).toMatchObject({ shape: [0] });
  });
});

describe("texts", () => {
  it("trims nulls and blanks, and reads variable length and lists", () => {
    expect(unwrap(file.readText("/texts/fixed"))).toEqual(["counts"]);
    expect(unwrap(file.readText("/texts/padded"))).toEqual(["mm"]);
    expect(unwrap(file.readText("/texts/vlen"))).toEqual(["Ångström"]);
    expect(unwrap(file.readText("/texts/list"))).toEqual(["one", "two words", ""]);
  });

  it("takes bytes that are not UTF-8 as Latin-1 and says so", () => {
    expect(unwrap(file.readText("/texts/latin1"))).toEqual(["µm"]);
    expect(file.notes.join()).toContain("/texts/latin1 is not UTF-8");
  });

  it("gives attributes of length 1 as one value", () => {
    const { attributes } = unwrap(file.node("/texts"));
    expect(Object.fromEntries(attributes)).toEqual({ many: ["y", "x"], one: "NXdata", number: 5, list: [1.5, 2.5] });
  });
});

describe("storage", () => {
  it.each([
    "contiguous",
    "compact",
    "chunked",
    "gzip",
    "shuffle",
    "fletcher",
    "lzf",
    "scaleoffset",
    "lz4",
    "bitshuffle",
  ])("reads %s", async (name) => {
    unwrap(await file.prepare(`/stores/${name}`));
    expect(Array.from(unwrap(file.read(`/stores/${name}`)))).toEqual(knownFrame());
  });

  it("names a filter that it can't undo, and the rest stays readable", async () => {
    const message = "/stores/unknown is compressed with filter 40404";
    expect(messageOf(await file.prepare("/stores/unknown"))).toContain(message);
    expect(messageOf(file.read("/stores/unknown"))).toContain(message);
    expect(file.read("/stores/gzip").ok).toBe(true);
  });

  it("reads a slice and refuses one that lies outside", () => {
    const slice = [
      [2, 4],
      [30, 37],
    ] as const;
    const rows = knownFrame();
    expect(Array.from(unwrap(file.read("/stores/gzip", slice)))).toEqual([
      ...rows.slice(104, 111),
      ...rows.slice(141, 148),
    ]);
    expect(
      messageOf(
        file.read("/stores/gzip", [
          [0, 1],
          [30, 38],
        ]),
      ),
    ).toContain("30..38 lies outside dimension 1, which is 37 long");
    expect(messageOf(file.read("/stores/gzip", [[0, 1]]))).toContain("2 dimensions");
  });
});

describe("links", () => {
  it("tells that two hard links lead to one object, and follows soft ones", () => {
    const address = unwrap(file.node("/stores/gzip")).address;
    for (const name of ["hard", "soft", "relative"]) expect(unwrap(file.node(`/links/${name}`)).address).toBe(address);
    expect(Array.from(unwrap(file.read("/links/relative")))).toEqual(knownFrame());
    expect(unwrap(file.node("/links/cycle")).address).toBe(unwrap(file.node("/")).address);
  });

  it("refuses what dangles, loops or leads out of the file, by name", () => {
    expect(messageOf(file.node("/links/dangling"))).toContain("/nowhere is not in the file");
    expect(messageOf(file.node("/links/loop"))).toContain("loop");
    expect(messageOf(file.node("/links/outside"))).toContain('"/etc/hostname"');
    expect(messageOf(file.node("/links/beside/below"))).toContain('"other.h5"');
    expect(messageOf(file.read("/links/virtual"))).toContain("elsewhere.h5");
    expect(messageOf(file.node("/no/such/thing"))).toContain("/no is not in the file");
  });
});

describe("damage", () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), "halation-test-"));
  });
  afterAll(() => rm(folder, { recursive: true }));

  const damaged = (name: string, change: (bytes: Uint8Array) => Uint8Array) => {
    const path = join(folder, name);
    writeFileSync(path, change(new Uint8Array(readFileSync(fixture("kinds.h5")))));
    return openHdf5(diskSource(path));
  };

  it("says where a truncated file ends and where it should", async () => {
    const message = messageOf(await damaged("cut.h5", (bytes) => bytes.slice(0, 30_000)));
    expect(message).toMatch(/cut\.h5 ends at byte 30000; its HDF5 header says \d+/);
  });

  it("does not open what is not HDF5", async () => {
    expect(messageOf(await damaged("text.h5", () => new TextEncoder().encode("hello")))).toContain(
      "does not open as HDF5",
    );
  });

  it("finds a flipped byte by its checksum, and gives no stale memory", async () => {
    const opened = unwrap(
      await damaged("flip.h5", (bytes) => {
        // Rows 8..15 of the first 16 columns, as the chunk of the dataset with Fletcher-32 stores them.
        const chunk = new Uint8Array(new Uint16Array(knownFrame().slice(8 * 37, 8 * 37 + 16)).buffer);
        const places: number[] = [];
        for (let at = 0; at + chunk.length <= bytes.length; at++)
          if (chunk.every((byte, i) => bytes[at + i] === byte)) places.push(at);
        expect(places.length).toBeGreaterThan(0);
        for (const at of places) bytes[at]! ^= 1;
        return bytes;
      }),
    );
    expect(messageOf(opened.read("/stores/fletcher"))).toContain("/stores/fletcher can't be read");
    expect(opened.read("/stores/gzip").ok).toBe(true);
    opened.close();
  });

  it("that makes a text 2 GB long takes no such memory", async () => {
    const bytes = fixtureBytes("nexus-standard.h5");
    const view = new DataView(bytes.buffer);
    const heap = BigInt(Buffer.from(bytes.buffer).indexOf("GCOL"));
    // A text of variable length is stored as its length, its heap and its number there (format specification, VIII.B).
    const texts = [...bytes.keys()].filter(
      (at) => at + 12 <= bytes.length && view.getBigUint64(at + 4, true) === heap && view.getUint32(at, true) < 64,
    );
    const before = process.memoryUsage().rss;
    let refused = 0;
    for (const at of texts) {
      const length = view.getUint32(at, true);
      view.setUint32(at, 1_900_000_000, true);
      const file = unwrap(await openHdf5(bytesSource("long.h5", bytes)));
      const text = file.readText("/entry/start_time");
      if (!text.ok && text.fault.message.includes("start_time can't be read: memory allocation failed")) refused++;
      file.close();
      view.setUint32(at, length, true);
    }
    expect(refused).toBe(1);
    expect(process.memoryUsage().rss - before).toBeLessThan(2 ** 28);
  });

  it("of an LZ4 chunk prints nothing: standard output belongs to the command", async () => {
    const opened = unwrap(
      await damaged("lz4.h5", (bytes) => {
        // The chunk starts with its unpacked size and the size of its blocks, big-endian (registry of HDF5 filters, 32004).
        const view = new DataView(bytes.buffer);
        const size = BigInt(knownFrame().length * 2);
        for (let at = 0; at + 32 <= bytes.length; at++)
          if (view.getBigUint64(at) === size && view.getUint32(at + 8) === 512) view.setUint32(at + 12, 500);
        return bytes;
      }),
    );
    unwrap(await opened.prepare("/stores/lz4"));
    expect(messageOf(opened.read("/stores/lz4"))).toContain("/stores/lz4 can't be read");
    opened.close();
    // The module took hold of the console when it was loaded, so that no spy sees it: its streams tell.
    const { FS } = await h5wasm.ready;
    const { streams } = FS as unknown as { readonly streams: readonly { readonly path?: string }[] };
    expect([1, 2].map((number) => streams[number]?.path)).toEqual(["/dev/null", "/dev/null"]);
  });

  it("that stops the library leaves the next file readable", async () => {
    const opened = unwrap(
      await damaged("lzf.h5", (bytes) => {
        // An LZF stream starts with a run of literals: its length byte, then the first pixels of the known frame.
        const pixels = new Uint8Array(new Uint16Array(knownFrame().slice(0, 4)).buffer);
        for (let at = 1; at + 8 <= bytes.length; at++)
          if (pixels.every((byte, i) => bytes[at + i] === byte) && bytes[at - 1]! < 32 && bytes[at - 1]! > 2)
            bytes.fill(0xff, at + 8, at + 60);
        return bytes;
      }),
    );
    unwrap(await opened.prepare("/stores/lzf"));
    expect(messageOf(opened.read("/stores/lzf"))).toContain("/stores/lzf can't be read");
    opened.close();
    const next = unwrap(await openHdf5(diskSource(fixture("kinds.h5"))));
    unwrap(await next.prepare("/stores/lzf"));
    expect(Array.from(unwrap(next.read("/stores/lzf")))).toEqual(knownFrame());
    next.close();
  });

  it("answers after it was closed", async () => {
    const opened = unwrap(await openHdf5(diskSource(fixture("plain.h5"))));
    opened.close();
    opened.close();
    expect(messageOf(opened.node("/"))).toContain("is closed");
  });
});
