const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/** Base64 (RFC 4648, section 4): `btoa` is no part of the language, and takes no bytes. */
export function base64(bytes: Uint8Array): string {
  const parts: string[] = [];
  for (let i = 0; i < bytes.length; i += 3) {
    const group = (bytes[i]! << 16) | ((bytes[i + 1] ?? 0) << 8) | (bytes[i + 2] ?? 0);
    const left = bytes.length - i;
    parts.push(
      DIGITS[group >> 18]! +
        DIGITS[(group >> 12) & 63]! +
        (left > 1 ? DIGITS[(group >> 6) & 63]! : "=") +
        (left > 2 ? DIGITS[group & 63]! : "="),
    );
  }
  return parts.join("");
}
