import { failure, type Result, success } from "./model/result.ts";

/**
 * How values of the host contract travel as bytes: u32 (little endian) length of the head, the head as JSON in UTF-8,
 * then the raw parts of its arrays, each starting at a multiple of 8 from the start of the frame. In the head an array
 * is `{"$bin": type, "at": offset, "n": entries}` with the offset counted from the first part; what JSON would lose (NaN,
 * infinities, -0, undefined) is `{"$value": name}`; an object that has a key starting with "$" of its own is
 * `{"$object": [[key, value], ...]}`.
 */
const BINARY_TYPES = {
  u8: Uint8Array,
  i8: Int8Array,
  u16: Uint16Array,
  i16: Int16Array,
  u32: Uint32Array,
  i32: Int32Array,
  f32: Float32Array,
  f64: Float64Array,
} as const;
type BinaryName = keyof typeof BINARY_TYPES;

/** Values that JSON drops or changes. */
const ODD_VALUES: Readonly<Record<string, number | undefined>> = {
  NaN: Number.NaN,
  Infinity: Number.POSITIVE_INFINITY,
  "-Infinity": Number.NEGATIVE_INFINITY,
  "-0": -0,
  undefined: undefined,
};

const ALIGNMENT = 8;
/** No value of the contract is nested like this; a frame that is wants to exhaust the stack. */
const MAX_DEPTH = 64;

function aligned(length: number): number {
  return Math.ceil(length / ALIGNMENT) * ALIGNMENT;
}

/** @throws TypeError on a value that can't travel: a function, a BigInt, a class of its own, a circle */
export function encodeFrame(value: unknown): Uint8Array<ArrayBuffer> {
  const parts: { readonly at: number; readonly bytes: Uint8Array }[] = [];
  let partsLength = 0;

  const plain = (item: unknown, depth: number): unknown => {
    if (depth > MAX_DEPTH) throw new TypeError(`a frame holds values nested up to ${MAX_DEPTH} deep`);
    if (item === undefined) return { $value: "undefined" };
    if (item === null || typeof item === "string" || typeof item === "boolean") return item;
    if (typeof item === "number") {
      if (!Number.isFinite(item)) return { $value: String(item) };
      return Object.is(item, -0) ? { $value: "-0" } : item;
    }
    if (typeof item !== "object") throw new TypeError(`a frame can't hold a ${typeof item}`);
    if (Array.isArray(item)) return item.map((entry) => plain(entry, depth + 1));
    if (ArrayBuffer.isView(item)) {
      const name = (Object.keys(BINARY_TYPES) as BinaryName[]).find((key) => item instanceof BINARY_TYPES[key]);
      if (name === undefined) throw new TypeError("a frame can't hold this kind of typed array");
      const at = partsLength;
      parts.push({ at, bytes: new Uint8Array(item.buffer, item.byteOffset, item.byteLength) });
      partsLength = aligned(at + item.byteLength);
      return { $bin: name, at, n: item.byteLength / BINARY_TYPES[name].BYTES_PER_ELEMENT };
    }
    const prototype: unknown = Object.getPrototypeOf(item);
    // A plain object of another realm (a preload's, say) has a prototype of its own, but one at the end of the chain.
    if (prototype !== null && Object.getPrototypeOf(prototype) !== null)
      throw new TypeError("a frame holds plain objects only");
    const entries = Object.entries(item).map(([key, entry]) => [key, plain(entry, depth + 1)] as const);
    return entries.some(([key]) => key.startsWith("$")) ? { $object: entries } : Object.fromEntries(entries);
  };

  const head = new TextEncoder().encode(JSON.stringify(plain(value, 0)));
  const partsStart = aligned(4 + head.length);
  const frame = new Uint8Array(partsStart + partsLength);
  new DataView(frame.buffer).setUint32(0, head.length, true);
  frame.set(head, 4);
  for (const { at, bytes } of parts) frame.set(bytes, partsStart + at);
  return frame;
}

/** The value of a frame. Arrays are copies, each with a buffer of its own. A damaged frame is a fault, never a wrong value. */
export function decodeFrame(frame: Uint8Array): Result<unknown> {
  if (frame.length < 4) return damaged("it has no head");
  const headLength = new DataView(frame.buffer, frame.byteOffset, frame.byteLength).getUint32(0, true);
  if (headLength > frame.length - 4) return damaged(`its head of ${headLength} bytes is cut off`);
  const parts = frame.subarray(Math.min(aligned(4 + headLength), frame.length));
  let problem = "";

  const wrong = (text: string): undefined => {
    problem ||= text;
    return undefined;
  };
  const binary = (name: unknown, at: unknown, n: unknown): unknown => {
    if (typeof name !== "string" || !Object.hasOwn(BINARY_TYPES, name)) return wrong("it holds an unknown array type");
    const Type = BINARY_TYPES[name as BinaryName];
    if (!isIndex(at) || !isIndex(n) || at % ALIGNMENT !== 0 || at + n * Type.BYTES_PER_ELEMENT > parts.length)
      return wrong("an array lies outside it");
    return new Type(parts.slice(at, at + n * Type.BYTES_PER_ELEMENT).buffer);
  };
  const revive = (item: unknown, depth: number): unknown => {
    if (depth > MAX_DEPTH) return wrong(`it is nested more than ${MAX_DEPTH} deep`);
    if (typeof item !== "object" || item === null) return item;
    if (Array.isArray(item)) return item.map((entry) => revive(entry, depth + 1));
    const record = item as Readonly<Record<string, unknown>>;
    if (Object.hasOwn(record, "$bin")) return binary(record["$bin"], record["at"], record["n"]);
    if (Object.hasOwn(record, "$value")) {
      const name = record["$value"];
      return typeof name === "string" && Object.hasOwn(ODD_VALUES, name) ? ODD_VALUES[name] : wrong("an unknown value");
    }
    if (Object.hasOwn(record, "$object")) {
      const entries = record["$object"];
      if (!Array.isArray(entries) || !entries.every((entry) => Array.isArray(entry) && typeof entry[0] === "string"))
        return wrong("it holds an object without keys");
      return Object.fromEntries(entries.map(([key, entry]: [string, unknown]) => [key, revive(entry, depth + 1)]));
    }
    // fromEntries makes own properties even of "__proto__", where an assignment would not.
    return Object.fromEntries(Object.entries(record).map(([key, entry]) => [key, revive(entry, depth + 1)]));
  };

  let head: unknown;
  try {
    head = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(frame.subarray(4, 4 + headLength)));
  } catch {
    return damaged("its head is not JSON");
  }
  const value = revive(head, 0);
  return problem === "" ? success(value) : damaged(problem);
}

function isIndex(value: unknown): value is number {
  return typeof value === "number" && Number.isSafeInteger(value) && value >= 0;
}

function damaged(what: string): Result<never> {
  return failure("unreadable", `a message between window and host is damaged: ${what}`);
}
