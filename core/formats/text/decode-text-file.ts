import { failure, type Result, success } from "../../model/result.ts";
import { LIMITS } from "../limits.ts";
import type { ByteSource } from "../reader.ts";

/** The whole of a text file, as UTF-8, else as Latin-1. */
export async function readTextFile(source: ByteSource, limit: number = LIMITS.textBytes): Promise<Result<string>> {
  if (source.size > limit)
    return failure("out-of-range", `${source.name} has ${source.size} bytes; the limit for text is ${limit}`, {
      file: source.name,
    });
  return success(decodeBytes(await source.read(0, source.size)));
}

export function decodeBytes(bytes: Uint8Array): string {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("latin1").decode(bytes);
  }
}

/** True where nearly all bytes are printable, as text has them; never with a null byte. */
export function isPrintable(head: Uint8Array): boolean {
  let odd = 0;
  for (const byte of head) {
    if (byte === 0) return false;
    if (byte < 32 && byte !== 9 && byte !== 10 && byte !== 13) odd++;
  }
  return head.length > 0 && odd * 100 <= head.length;
}
