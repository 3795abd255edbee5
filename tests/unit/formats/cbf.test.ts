import { describe, expect, it } from "vitest";
import { decodeByteOffset } from "../../../core/formats/cbf/byte-offset.ts";
import { decodeBase64, encodeBase64 } from "../../../core/formats/cbf/sections.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../../support/open-file.ts";

const open = async (name: string) => unwrap(await openBytes(name, fixtureBytes(name)));
const frameOf = async (name: string, index = 0) =>
  unwrap(await (await open(name)).banks[0]!.readFrame(index, neverAborted));

// Files were put together by a script from the text of the standard, with its own packing (scripts/make-format-fixtures.py).
describe("CBF", () => {
  it("undoes differences of 1, 2, 4 and 8 bytes", async () => {
    const expected = knownFrame(8);
    [expected[1], expected[2], expected[3]] = [2_000_000_000, -2_000_000_000, -1];
    const frame = await frameOf("jumps.cbf");
    expect(Array.from(frame.counts)).toEqual(expected);
    const { saturated, file, gap } = MASK_REASONS;
    expect(Array.from(frame.mask.subarray(0, 5))).toEqual([0, saturated, file, gap, 0]);
  });

  it.each(["unix", "plain", "base64"])("%s: other line ends, unpacked floats, text encoding", async (name) => {
    expect(Array.from((await frameOf(`${name}.cbf`)).counts)).toEqual(knownFrame(8));
  });

  it("holds several sections as frames", async () => {
    expect((await open("two.cbf")).banks[0]!.frames).toBe(2);
    expect(Array.from((await frameOf("two.cbf", 1)).counts)).toEqual(knownFrame(8));
  });

  it("gives what its header says, with the line it came from", async () => {
    const { metadata, rowOrder } = (await open("jumps.cbf")).banks[0]!;
    expect(rowOrder).toBe("top-down");
    expect(metadata).toMatchObject({
      wavelength: { value: 0.9795, from: "# Wavelength 0.9795 A" },
      distance: { value: 2.103 },
      countTime: { value: 1.5 },
      pixelSize: { value: [172e-6, 172e-6], from: "# Pixel_size 172e-6 m x 172e-6 m" },
      beamCentre: { value: [18.5, 11.25] },
    });
  });

  it("warns where the digest does not match, and names both", async () => {
    expect((await open("jumps.cbf")).warnings).toEqual([]);
    const bytes = fixtureBytes("jumps.cbf");
    const marker = bytes.findIndex((byte, i) => byte === 0x0c && bytes[i + 1] === 0x1a && bytes[i + 2] === 4);
    bytes[marker + 60]! ^= 2;
    const run = unwrap(await openBytes("jumps.cbf", bytes));
    expect(run.warnings[0]).toMatch(/the MD5 digest is \S+==, the header says \S+==/);
  });

  it("refuses other packings and says where data end", async () => {
    expect(messageOf(await openBytes("packed.cbf", fixtureBytes("packed.cbf")))).toContain("packed as x-cbf_packed");
    const bytes = fixtureBytes("jumps.cbf");
    expect(messageOf(await openBytes("cut.cbf", bytes.slice(0, 1000)))).toMatch(
      /declares \d+ bytes but the file holds \d+ after byte/,
    );
    expect(messageOf(decodeByteOffset(Uint8Array.of(1, 2, 0x80, 1), new Int32Array(4), "p"))).toContain(
      "element 2 of 4: the data end",
    );
    expect(messageOf(decodeByteOffset(Uint8Array.of(1, 2, 3), new Int32Array(2), "p"))).toContain(
      "1 bytes are left over",
    );
  });

  it("encodes and decodes BASE64 by the vectors of RFC 4648, section 10", () => {
    const vectors = {
      "": "",
      f: "Zg==",
      fo: "Zm8=",
      foo: "Zm9v",
      foob: "Zm9vYg==",
      fooba: "Zm9vYmE=",
      foobar: "Zm9vYmFy",
    };
    for (const [plain, coded] of Object.entries(vectors)) {
      expect(encodeBase64(new TextEncoder().encode(plain))).toBe(coded);
      expect(new TextDecoder().decode(decodeBase64(new TextEncoder().encode(coded)))).toBe(plain);
    }
    expect(decodeBase64(Uint8Array.of(0x2a))).toBeUndefined();
  });
});
