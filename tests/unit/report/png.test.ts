import { unzlibSync } from "fflate";
import { describe, expect, it } from "vitest";
import { base64 } from "../../../core/report/base64.ts";
import { crc32, pngBytes } from "../../../core/report/png.ts";
import { decodePng } from "../../support/decode-png.ts";

describe("PNG files", () => {
  it("give the pixels back", () => {
    const rgba = Uint8Array.from({ length: 4 * 5 * 3 }, (_, i) => (i * 37) % 256);
    const image = decodePng(pngBytes(rgba, { width: 5, height: 3 }), unzlibSync);
    expect(image).toEqual({ width: 5, height: 3, rgba });
  });

  it("carry the checksum of the standard", () => {
    // Check value of CRC-32 for "123456789" (ISO 3309; R. Williams, "A painless guide to CRC error detection algorithms").
    expect(crc32(new TextEncoder().encode("123456789"))).toBe(0xcbf43926);
    // The empty IEND chunk of every PNG ends in AE 42 60 82.
    expect([...pngBytes(new Uint8Array(4), { width: 1, height: 1 }).slice(-4)]).toEqual([0xae, 0x42, 0x60, 0x82]);
  });

  it("refuse bytes that don't fill the image", () => {
    expect(() => pngBytes(new Uint8Array(5), { width: 1, height: 1 })).toThrow(RangeError);
  });
});

describe("base64", () => {
  it("is what Node makes", () => {
    for (let length = 0; length < 20; length++) {
      const bytes = Uint8Array.from({ length }, (_, i) => (i * 91 + length) % 256);
      expect(base64(bytes)).toBe(Buffer.from(bytes).toString("base64"));
    }
  });
});
