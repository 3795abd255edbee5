const TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit++) value = (value & 1) === 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value >>> 0;
});

/** CRC-32 of gzip and zip (RFC 1952, section 8), continued from the result for the bytes before. */
export function crc32(bytes: Uint8Array, before = 0): number {
  let crc = ~before;
  for (let i = 0; i < bytes.length; i++) crc = (crc >>> 8) ^ TABLE[(crc ^ bytes[i]!) & 0xff]!;
  return ~crc >>> 0;
}
