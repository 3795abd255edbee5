import { describe, expect, it } from "vitest";
import { mapFiles } from "../../../core/report/maps.ts";
import { npyBytes } from "../../../core/report/npy.ts";
import { aReduction } from "../../support/reduction-builder.ts";

/** Reads the layout that numpy.lib.format describes for version 1.0. */
function parse(bytes: Uint8Array): { readonly header: string; readonly data: DataView } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  expect([...bytes.subarray(0, 8)]).toEqual([0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59, 1, 0]);
  const length = view.getUint16(8, true);
  const header = Buffer.from(bytes.subarray(10, 10 + length)).toString("latin1");
  expect((10 + length) % 64).toBe(0);
  expect(header.endsWith("\n")).toBe(true);
  return { header: header.trimEnd(), data: new DataView(bytes.buffer, 10 + length) };
}

describe("NPY files", () => {
  it("hold float64 maps in rows, NaN included", () => {
    const values = Float64Array.of(0.1, -2, Number.NaN, 4, 5e-324, 6);
    const { header, data } = parse(npyBytes(values, { width: 3, height: 2 }));
    expect(header).toBe("{'descr': '<f8', 'fortran_order': False, 'shape': (2, 3), }");
    expect(data.byteLength).toBe(48);
    values.forEach((value, p) => {
      expect(data.getFloat64(8 * p, true)).toBe(value);
    });
  });

  it("hold masks as uint16", () => {
    const { header, data } = parse(npyBytes(Uint16Array.of(1, 512), { width: 2, height: 1 }));
    expect(header).toBe("{'descr': '<u2', 'fortran_order': False, 'shape': (1, 2), }");
    expect([data.getUint16(0, true), data.getUint16(2, true)]).toEqual([1, 512]);
  });

  it("refuse a map of another size", () => {
    expect(() => npyBytes(new Float64Array(5), { width: 3, height: 2 })).toThrow(RangeError);
  });

  it("give all five maps in stored order, phi in degrees", () => {
    const reduction = aReduction();
    const files = mapFiles(reduction);
    expect(files.map((file) => file.path)).toEqual([
      "maps/intensity.npy",
      "maps/sigma.npy",
      "maps/q.npy",
      "maps/phi.npy",
      "maps/mask.npy",
    ]);
    const phi = parse(files[3]!.bytes).data;
    const { phi: radians, q } = reduction.maps;
    for (let p = 0; p < radians.length; p++) {
      const degrees = phi.getFloat64(8 * p, true);
      expect(degrees >= 0 && degrees < 360).toBe(true);
      expect(Math.abs(degrees - (radians[p]! * 180) / Math.PI)).toBeLessThan(1e-12 * 360);
    }
    expect(parse(files[2]!.bytes).data.getFloat64(8 * 100, true)).toBe(q[100]);
  });
});
