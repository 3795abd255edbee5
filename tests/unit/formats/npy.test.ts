import { describe, expect, it } from "vitest";
import { knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../../support/open-file.ts";

// All files were written by numpy.
const open = async (name: string) => unwrap(await openBytes(name, fixtureBytes(name)));
const counts = async (name: string, frame = 0) => {
  const run = await open(name);
  return Array.from(unwrap(await run.banks[0]!.readFrame(frame, neverAborted)).counts);
};

describe("NPY arrays", () => {
  it.each(["u1", "i1", "u2", "i2", "u4", "i4", "u8", "i8", "f2", "f4", "f8"])("of type %s", async (code) => {
    const run = await open(`${code}.npy`);
    expect(run.banks[0]).toMatchObject({ width: 37, height: 8, frames: 1, counting: !code.startsWith("f") });
    expect(await counts(`${code}.npy`)).toEqual(knownFrame(8, (count) => count % 100));
  });

  it("of booleans", async () => {
    expect(await counts("b1.npy")).toEqual(knownFrame(8, (count) => (count > 100 ? 1 : 0)));
  });

  it.each(["big-endian", "fortran", "version-2", "version-3"])("%s", async (name) => {
    expect(await counts(`${name}.npy`)).toEqual(knownFrame());
  });

  it.each(["stack", "stack-fortran"])("%s of three frames", async (name) => {
    const run = await open(`${name}.npy`);
    expect(run.banks[0]).toMatchObject({ width: 37, height: 23, frames: 3, axis: { kind: "frame" } });
    for (const frame of [0, 1, 2])
      expect(await counts(`${name}.npy`, frame)).toEqual(knownFrame(23, (count) => count + 1000 * frame));
  });

  it("that aren't frames are refused with the reason", async () => {
    const message = async (name: string) => messageOf(await openBytes(name, fixtureBytes(name)));
    expect(await message("object.npy")).toContain("object arrays are not read");
    expect(await message("complex.npy")).toContain("complex numbers are not read");
    expect(await message("structured.npy")).toContain("structured");
    expect(await message("scalar.npy")).toContain("rank 0");
    expect(await message("list.npy")).toContain("a list of 5 values");
    const run = await open("beyond.npy");
    expect(messageOf(await run.banks[0]!.readFrame(0, neverAborted))).toContain(
      "beyond.npy[1] is 1152921504606846977, beyond 2^53",
    );
  });

  it("that are cut off say what is declared and what is there", async () => {
    const bytes = fixtureBytes("u2.npy");
    expect(messageOf(await openBytes("cut.npy", bytes.slice(0, 300)))).toContain(
      "declares 592 bytes of values (8 x 37 of <u2) but holds 172",
    );
    expect(messageOf(await openBytes("cut.npy", bytes.slice(0, 40)))).toContain("ends at byte 40");
    const longer = new Uint8Array(bytes.length + 3);
    longer.set(bytes);
    expect(unwrap(await openBytes("long.npy", longer)).warnings).toEqual(["3 bytes after the values are ignored"]);
  });

  it("with an absurd header cost nothing", async () => {
    const header = (text: string) => {
      const bytes = new TextEncoder().encode(`\x00NUMPY\x01\x00  ${text}\n`);
      bytes[0] = 0x93;
      new DataView(bytes.buffer).setUint16(8, bytes.length - 10, true);
      return bytes;
    };
    const message = async (text: string) => messageOf(await openBytes("odd.npy", header(text)));
    const shaped = (shape: string) => `{'descr': '<i4', 'fortran_order': False, 'shape': ${shape}, }`;
    expect(await message(shaped("(2147483648, 2147483648)"))).toContain("declares 2147483648 x 2147483648 pixels");
    expect(await message(shaped("(99999999999, 8, 8)"))).toContain("but holds 0");
    expect(await message(shaped("(0, 5)"))).toContain("length 0");
    expect(await message("{'descr': __import__('os'), 'fortran_order': False, 'shape': (1,1)}")).toContain(
      "can't be read at",
    );
    expect(await message("{'descr': '<i4', 'shape': (1, 1)}")).toContain("lacks");
  });
});
