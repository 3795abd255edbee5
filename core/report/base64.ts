const DIGITS = new TextEncoder().encode("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/");
const PADDING = 0x3d; // "="

/** Base64 (RFC 4648, section 4): `btoa` is no part of the language, and takes no bytes. */
export function base64(bytes: Uint8Array): string {
  const text = new Uint8Array(4 * Math.ceil(bytes.length / 3));
  for (let i = 0, out = 0; i < bytes.length; i += 3, out += 4) {
    const group = (bytes[i]! << 16) | ((bytes[i + 1] ?? 0) << 8) | (bytes[i + 2] ?? 0);
    const left = bytes.length - i;
    text[out] = DIGITS[group >> 18]!;
    text[out + 1] = DIGITS[(group >> 12) & 63]!;
    text[out + 2] = left > 1 ? DIGITS[(group >> 6) & 63]! : PADDING;
    text[out + 3] = left > 2 ? DIGITS[group & 63]! : PADDING;
  }
  return new TextDecoder().decode(text);
}
