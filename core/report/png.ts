import { zlibSync } from "fflate";

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
/** Signature, and the header chunk of 13 bytes of data. */
const AFTER_HEADER = 8 + 12 + 13;
const UNIT_METRE = 1;
const COLOUR_RGBA = 6;
/** "Up": each byte less the one above it, which suits pictures of few sharp edges. */
const FILTER_UP = 2;

/**
 * An image as PNG, 8 bits a channel, RGBA, not interlaced.
 * @param rgba row by row from the top, 4 bytes a pixel
 * @see https://www.w3.org/TR/png-3/
 */
export function pngBytes(
  rgba: Uint8Array,
  { width, height }: { readonly width: number; readonly height: number },
): Uint8Array<ArrayBuffer> {
  if (rgba.length !== 4 * width * height)
    throw new RangeError(`${rgba.length} bytes for an image of ${width} x ${height}`);

  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  header.set([8, COLOUR_RGBA, 0, 0, 0], 8);

  const stride = 4 * width;
  const lines = new Uint8Array(height * (stride + 1));
  for (let y = 0; y < height; y++) {
    const line = y * (stride + 1);
    lines[line] = FILTER_UP;
    for (let i = 0; i < stride; i++) {
      const above = y === 0 ? 0 : rgba[(y - 1) * stride + i]!;
      lines[line + 1 + i] = rgba[y * stride + i]! - above;
    }
  }

  const chunks = [chunk("IHDR", header), chunk("IDAT", zlibSync(lines)), chunk("IEND", new Uint8Array(0))];
  const length = chunks.reduce((sum, bytes) => sum + bytes.length, SIGNATURE.length);
  const png = new Uint8Array(length);
  png.set(SIGNATURE);
  let at = SIGNATURE.length;
  for (const bytes of chunks) {
    png.set(bytes, at);
    at += bytes.length;
  }
  return png;
}

/**
 * The same picture with the size at which it is to be printed: a pHYs chunk after the header.
 * @param perMetre pixels; the same in both directions
 * @see https://www.w3.org/TR/png-3/#11pHYs
 */
export function withPrintedSize(png: Uint8Array, perMetre: number): Uint8Array<ArrayBuffer> {
  const data = new Uint8Array(9);
  const view = new DataView(data.buffer);
  view.setUint32(0, Math.round(perMetre));
  view.setUint32(4, Math.round(perMetre));
  data[8] = UNIT_METRE;
  const size = chunk("pHYs", data);
  const whole = new Uint8Array(png.length + size.length);
  whole.set(png.subarray(0, AFTER_HEADER));
  whole.set(size, AFTER_HEADER);
  whole.set(png.subarray(AFTER_HEADER), AFTER_HEADER + size.length);
  return whole;
}

/** Length, type, data, and the checksum of type and data. */
function chunk(type: string, data: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(12 + data.length);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, data.length);
  for (let i = 0; i < 4; i++) bytes[4 + i] = type.charCodeAt(i);
  bytes.set(data, 8);
  view.setUint32(8 + data.length, crc32(bytes.subarray(4, 8 + data.length)));
  return bytes;
}

/** CRC-32 of ISO 3309, as PNG wants it: polynomial 0xEDB88320, bits reflected. */
export function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (let i = 0; i < bytes.length; i++) crc = CRC_TABLE[(crc ^ bytes[i]!) & 0xff]! ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = (crc & 1) === 1 ? 0xedb88320 ^ (crc >>> 1) : crc >>> 1;
  return crc;
});
