import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex } from "@noble/hashes/utils.js";

/**
 * JSON text with the keys of every object in the order of their code units and no spaces, so that equal values have equal
 * text (the idea of RFC 8785, for the plain data that plans are made of). Keys without a value are left out.
 */
export function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_, part: unknown) =>
    typeof part === "object" && part !== null && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)))
      : part,
  );
}

/** SHA-256 of a plan's canonical JSON, in hexadecimal: two plans that say the same have the same. */
export function planHash(plan: unknown): string {
  return bytesToHex(sha256(new TextEncoder().encode(canonicalJson(plan))));
}
