import { utf8 } from "./text.ts";

/** JSON for a file: two-space indent, a line end, and null for numbers that aren't known (JSON has no NaN). */
export function jsonBytes(value: unknown): Uint8Array<ArrayBuffer> {
  return utf8(`${jsonText(value)}\n`);
}

export function jsonText(value: unknown): string {
  return JSON.stringify(value, plain, 2);
}

/** Typed arrays become lists; JSON.stringify would make objects of them. Numbers that aren't finite become null by rule. */
function plain(_key: string, value: unknown): unknown {
  return ArrayBuffer.isView(value) && !(value instanceof DataView)
    ? Array.from(value as unknown as ArrayLike<number>)
    : value;
}
