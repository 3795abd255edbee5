export interface DecodedPng {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8Array;
}

/**
 * Decodes 8-bit RGBA PNG, all five filters, and throws on a wrong signature or checksum. Follows the PNG standard
 * (third edition), sections 5 and 9.
 */
export function decodePng(bytes: Uint8Array, inflate: (data: Uint8Array) => Uint8Array): DecodedPng {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (view.getUint32(0) !== 0x89504e47 || view.getUint32(4) !== 0x0d0a1a0a) throw new Error("no PNG signature");
  const data: Uint8Array[] = [];
  let [width, height] = [0, 0];
  for (let at = 8; at < bytes.length; ) {
    const length = view.getUint32(at);
    const type = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    const content = bytes.subarray(at + 8, at + 8 + length);
    if (checksum(bytes.subarray(at + 4, at + 8 + length)) !== view.getUint32(at + 8 + length)) {
      throw new Error(`wrong checksum of ${type}`);
    }
    if (type === "IHDR") {
      [width, height] = [view.getUint32(at + 8), view.getUint32(at + 12)];
      if (content[8] !== 8 || content[9] !== 6) throw new Error("not 8-bit RGBA");
    }
    if (type === "IDAT") data.push(content);
    at += 12 + length;
  }
  return { width, height, rgba: unfilter(inflate(Buffer.concat(data)), width, height) };
}

function unfilter(lines: Uint8Array, width: number, height: number): Uint8Array {
  const stride = 4 * width;
  const out = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++) {
    const filter = lines[y * (stride + 1)]!;
    for (let i = 0; i < stride; i++) {
      const a = i < 4 ? 0 : out[y * stride + i - 4]!;
      const b = y === 0 ? 0 : out[(y - 1) * stride + i]!;
      const c = i < 4 || y === 0 ? 0 : out[(y - 1) * stride + i - 4]!;
      const predictor = [0, a, b, (a + b) >> 1, paeth(a, b, c)][filter]!;
      out[y * stride + i] = lines[y * (stride + 1) + 1 + i]! + predictor;
    }
  }
  return out;
}

function paeth(a: number, b: number, c: number): number {
  const p = a + b - c;
  const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
  if (pa <= pb && pa <= pc) return a;
  return pb <= pc ? b : c;
}

/** CRC-32 bit by bit, as the standard's annex D describes it; no table, so that it shares nothing with the encoder. */
function checksum(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    for (let bit = 0; bit < 8; bit++) {
      const carry = (crc ^ (byte >> bit)) & 1;
      crc = carry === 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
    }
  }
  return ~crc >>> 0;
}
