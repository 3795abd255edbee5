import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { READERS } from "../../core/formats/readers.ts";
import { fixtureBytes, neverAborted, openBytes, unwrap } from "../support/open-file.ts";

/** One small file of each reader, by its id. */
const SAMPLES: Readonly<Record<string, string>> = {
  nexus: "plain-two.h5",
  tiff: "pillow-lzw.tif",
  npy: "u2.npy",
  cbf: "jumps.cbf",
  gzip: "u2.npy.gz",
  zip: "stored.npz",
  text: "matrix.txt",
};
const CHOICES: Readonly<Record<string, { dataset: string }>> = { nexus: { dataset: "/a" } };
/** Bytes that a reader is first asked about. */
const HEAD = 4096;

/** Opens and reads one frame of everything: a fault or a frame, never an exception. */
async function readAll(id: string, bytes: Uint8Array<ArrayBuffer>): Promise<"fault" | "frame"> {
  const run = await openBytes("changed", bytes, CHOICES[id]);
  if (!run.ok) {
    expect(run.fault.message.length).toBeGreaterThan(0);
    expect(run.fault.message).not.toMatch(/undefined|\[object|NaN x/);
    return "fault";
  }
  try {
    for (const bank of run.value.banks) {
      const frame = await bank.readFrame(0, neverAborted);
      if (!frame.ok) return "fault";
      expect(frame.value.counts.length).toBe(bank.width * bank.height);
      expect(frame.value.mask.length).toBe(bank.width * bank.height);
    }
    return "frame";
  } finally {
    run.value.close();
  }
}

it("every reader has a sample here", () => {
  expect(READERS.map(({ id }) => id).sort()).toEqual(Object.keys(SAMPLES).sort());
});

// A text matrix without its last rows is a smaller matrix: nothing in it says how many there should be.
describe.each(READERS.filter(({ id }) => id !== "text"))("$id", (reader) => {
  it("answers half a file and one without its last byte with a fault", async () => {
    const bytes = fixtureBytes(SAMPLES[reader.id]!);
    expect(await readAll(reader.id, bytes.slice(0, bytes.length >> 1))).toBe("fault");
    // The last byte of an HDF5 file may be free space, but its header knows the size of the file.
    if (reader.id !== "cbf") expect(await readAll(reader.id, bytes.slice(0, -1))).toBe("fault");
  });
});

describe.each(READERS)("$id", (reader) => {
  const sample = () => fixtureBytes(SAMPLES[reader.id]!);

  it("knows its own sample, and no other reader does", () => {
    const bytes = sample();
    for (const other of READERS)
      expect(other.sniff(bytes.slice(0, HEAD), { name: "no-extension", size: bytes.length }) === "yes", other.id).toBe(
        other === reader,
      );
  });

  it("opens its sample under a name of another format", async () => {
    for (const name of ["frame.dat", "frame.h5", "frame.tif", "a name with ünïcode.txt", "-leading"]) {
      const run = unwrap(await openBytes(name, sample(), CHOICES[reader.id]));
      expect(run.banks.length).toBeGreaterThan(0);
      run.close();
    }
  });

  it.each([0, 1, 9])("answers a file cut at %i bytes with a fault", async (length) => {
    expect(await readAll(reader.id, sample().slice(0, length))).toBe("fault");
  });

  it("stops when it is told to", async () => {
    const controller = new AbortController();
    const run = unwrap(await openBytes("sample", sample(), CHOICES[reader.id]));
    controller.abort();
    await expect(run.banks[0]!.readFrame(0, controller.signal)).rejects.toThrow();
    run.close();
  });

  it("refuses a frame that is not there", async () => {
    const run = unwrap(await openBytes("sample", sample(), CHOICES[reader.id]));
    for (const index of [-1, 1000, 0.5, Number.NaN])
      expect((await run.banks[0]!.readFrame(index, neverAborted)).ok).toBe(false);
    run.close();
  });

  it("never throws, whatever bytes are changed", { timeout: 60_000 }, async () => {
    const original = sample();
    const change = fc.record({ at: fc.nat(original.length - 1), byte: fc.integer({ min: 0, max: 255 }) });
    await fc.assert(
      fc.asyncProperty(fc.array(change, { minLength: 1, maxLength: 8 }), fc.boolean(), async (changes, inHead) => {
        const bytes = original.slice();
        // Most of what a file says of itself stands near its start.
        for (const { at, byte } of changes) bytes[inHead ? at % Math.min(512, bytes.length) : at] = byte;
        await readAll(reader.id, bytes);
      }),
      { seed: 20_260_301, numRuns: 60 },
    );
  });
});

it("a source whose reading fails is a fault with the system's reason", async () => {
  const broken = {
    ...bytesSource("gone.h5", fixtureBytes("plain.h5")),
    read: async () => {
      throw Object.assign(new Error("ENOENT: no such file or directory"), { code: "ENOENT" });
    },
  };
  const { openSource } = await import("../support/open-file.ts");
  const result = await openSource(broken);
  expect(result.ok ? "" : result.fault.message).toBe("gone.h5 can't be read: ENOENT: no such file or directory");
});
