import { describe, expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import { holdsCurves } from "../../../core/formats/curves/holds-curves.ts";
import { averageCsv } from "../../../core/report/csv.ts";
import { openHdf5 } from "../../../electron/services/open-hdf5.ts";

const { signal } = new AbortController();
const holds = (name: string, content: string | Uint8Array<ArrayBuffer>) =>
  holdsCurves(bytesSource(name, typeof content === "string" ? new TextEncoder().encode(content) : content), {
    signal,
    openHdf5,
  });
const rows = (columns: number, value: (row: number, column: number) => number) =>
  Array.from({ length: 20 }, (_, r) => Array.from({ length: columns }, (_, c) => value(r, c)).join(" ")).join("\n");

describe("a file of finished curves", () => {
  it("is known by the names of its columns, or by few columns of which the first rises like Q", async () => {
    const q = Float64Array.of(1, 2, 3);
    const unknown = new Float64Array(3).fill(Number.NaN);
    const own = averageCsv({
      ...{ kind: "radial", id: "radial", unit: "1/cm", q, intensity: q, sigma: q, pixels: q, counts: q, norm: q },
      ...{ scatterSigma: unknown, chi2: unknown, zeroCounts: new Uint8Array(3), bin: Int32Array.of(0, 1, 2) },
    });
    expect(await holds("own.csv", own)).toBe(true);
    expect(
      await holds(
        "three.dat",
        rows(3, (r, c) => (c === 0 ? 0.01 + 0.001 * r : 5 - 0.1 * r)),
      ),
    ).toBe(true);
    // Told to be no curve when it is loaded, instead of being shown as a frame of five columns.
    expect(await holds("ring.csv", "phi,I,dI,pixels,counts\n5,1,0.1,3,100\n15,1,0.1,3,100\n")).toBe(true);
    expect(
      await holds(
        "a.xml",
        '<SASroot xmlns="urn:cansas1d:1.1"><SASentry><SASdata><Idata><Q unit="1/A">0.1</Q>' +
          '<I unit="1/cm">1</I></Idata></SASdata></SASentry></SASroot>',
      ),
    ).toBe(true);
  });

  it("is not a frame as text, a table of whole numbers, or prose", async () => {
    expect(
      await holds(
        "frame.txt",
        rows(32, (r, c) => r * c),
      ),
    ).toBe(false);
    expect(
      await holds(
        "narrow.txt",
        rows(4, (r, c) => (r * 7 + c * 3) % 11),
      ),
    ).toBe(false);
    expect(
      await holds(
        "channels.txt",
        rows(2, (r, c) => (c === 0 ? r + 1 : 50 - r)),
      ),
    ).toBe(false);
    expect(await holds("list.txt", "bread, butter, neutrons")).toBe(false);
    expect(await holds("empty.csv", "")).toBe(false);
  });
});
