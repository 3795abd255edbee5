import { describe, expect, it } from "vitest";
import { crc32 } from "../../../core/formats/containers/crc32.ts";
import { adler32, inflateBounded } from "../../../core/formats/inflate.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { KNOWN, knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../../support/open-file.ts";

// Archives were written by Python's gzip and zipfile and by numpy.
const open = async (name: string, choice = {}) => unwrap(await openBytes(name, fixtureBytes(name), choice));
const fault = async (name: string, bytes = fixtureBytes(name), choice = {}) =>
  messageOf(await openBytes(name, bytes, choice));
const counts = async (name: string, choice = {}) =>
  Array.from(unwrap(await (await open(name, choice)).banks[0]!.readFrame(0, neverAborted)).counts);
const u2 = knownFrame(8, (count) => count % 100);

describe("gzip", () => {
  it("holds any format, in one member or several", async () => {
    expect(await counts("u2.npy.gz")).toEqual(u2);
    expect(await counts("members.npy.gz")).toEqual(u2);
    const hdf5 = await open("frame.h5.gz");
    expect(Array.from(unwrap(await hdf5.banks[0]!.readFrame(0, neverAborted)).counts)).toEqual(knownFrame());
    hdf5.close();
  });

  it("of nothing is empty", async () => {
    expect(await fault("nothing.gz")).toContain("is empty (0 bytes)");
  });

  it("that is cut off or changed is refused wherever it happens", async () => {
    const bytes = fixtureBytes("u2.npy.gz");
    for (let length = 2; length < bytes.length; length += 13)
      expect((await openBytes("cut.gz", bytes.slice(0, length))).ok).toBe(false);
    for (let at = 10; at < bytes.length; at += 5) {
      const changed = bytes.slice();
      changed[at]! ^= 4;
      expect((await openBytes("changed.gz", changed)).ok, `byte ${at}`).toBe(false);
    }
  });

  it("that grows beyond its ratio is stopped", async () => {
    expect(await fault("bomb.gz")).toMatch(/unpacks to more than \d+ bytes from \d+ packed ones/);
  });
});

describe("zip", () => {
  it("opens its one frame and leaves out folders and hidden files", async () => {
    expect(await counts("frame.zip")).toEqual(knownFrame(8));
    expect(await counts("zip64.zip")).toEqual(u2);
  });

  it("with several files asks, and opens the one named", async () => {
    expect(await fault("several.zip")).toContain('holds several files: "a.tif", "b.npy"');
    expect(await counts("several.zip", { entry: "b.npy" })).toEqual(u2);
  });

  it("never lets a name out of the archive, and still opens the others", async () => {
    const run = await open("traversal.zip");
    expect(run.notes[0]).toContain('"../../evil.tif" is refused');
    expect(run.banks[0]).toMatchObject({ width: 37, height: 8 });
  });

  it("refuses a name that occurs twice, damage and a missing directory", async () => {
    expect(await fault("twice.zip")).toContain('"a.tif" occurs twice');
    const bytes = fixtureBytes("frame.zip");
    expect(await fault("frame.zip", bytes.slice(0, bytes.length - 10))).toContain("it is cut off");
    const changed = bytes.slice();
    changed[200]! ^= 1;
    expect((await openBytes("frame.zip", changed)).ok).toBe(false);
  });

  it("refuses what is encrypted and what claims to expand without end", async () => {
    const bytes = fixtureBytes("several.zip");
    const view = new DataView(bytes.buffer);
    const central = Array.from({ length: bytes.length - 4 }, (_, at) => at).filter(
      (at) => view.getUint32(at, true) === 0x02014b50,
    );
    const encrypted = bytes.slice();
    for (const at of central) encrypted[at + 8]! |= 1;
    expect(await fault("encrypted.zip", encrypted, { entry: "a.tif" })).toContain("is encrypted");
    const lying = bytes.slice();
    for (const at of central) new DataView(lying.buffer).setUint32(at + 24, 0xfffffff0, true);
    expect(await fault("lying.zip", lying, { entry: "a.tif" })).toContain("expands to 4294967280 bytes");
  });

  it("is read two containers deep and no deeper", async () => {
    expect(await counts("nested-2.zip.gz")).toEqual(knownFrame(8));
    expect(await fault("nested-3.zip.gz.gz")).toContain("more than 2 containers");
  });
});

describe("NPZ", () => {
  it("takes the array with a usual name, and its mask", async () => {
    const run = await open("stored.npz");
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    expect(run.notes[0]).toBe('frame: array "counts" of "counts", "mask"');
    expect(Array.from(frame.counts)).toEqual(knownFrame());
    expect(Array.from(frame.mask)).toEqual(knownFrame(KNOWN.height, (count) => (count > 240 ? MASK_REASONS.file : 0)));
  });

  it("takes the only array, deflated", async () => {
    expect(await counts("deflated.npz")).toEqual(knownFrame());
  });

  it("names its arrays when the one asked for is not there", async () => {
    expect(await fault("stored.npz", fixtureBytes("stored.npz"), { dataset: "rate" })).toContain(
      'no array "rate"; it has "counts", "mask"',
    );
  });
});

describe("checksums", () => {
  const text = new TextEncoder().encode("123456789");
  it("agree with the check values of their standards", () => {
    // CRC-32 check value of the catalogue of parametrised CRC algorithms (ISO-HDLC); Adler-32 by hand from RFC 1950.
    expect(crc32(text)).toBe(0xcbf43926);
    expect(crc32(text.subarray(4), crc32(text.subarray(0, 4)))).toBe(0xcbf43926);
    expect(adler32(text)).toBe(0x091e01de);
  });

  it("unpacking ends at the limit", () => {
    // "raw" deflate: one stored block of 9 bytes (RFC 1951, section 3.2.4).
    const stored = Uint8Array.of(1, 9, 0, 0xf6, 0xff, ...text);
    expect(Array.from(inflateBounded(stored, "raw", 9))).toEqual(Array.from(text));
    expect(() => inflateBounded(stored, "raw", 8)).toThrow("more than 8 bytes");
    expect(() => inflateBounded(stored.slice(0, 10), "raw", 9)).toThrow();
  });
});
