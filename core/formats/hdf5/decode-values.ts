import { failure, type Result, success } from "../../model/result.ts";
import { type ModuleMetadata, TYPE_CLASS } from "./h5wasm-module.ts";
import type { NumericArray } from "./hdf5-file.ts";

/** Element type in words. An enumeration of true and false in one byte is a boolean, any other its integer. */
export function typeName(metadata: ModuleMetadata): string {
  const bits = metadata.size * 8;
  switch (metadata.type) {
    case TYPE_CLASS.integer:
      return `${metadata.signed ? "int" : "uint"}${bits}`;
    case TYPE_CLASS.bitfield:
      return `uint${bits}`;
    case TYPE_CLASS.float:
      return `float${bits}`;
    case TYPE_CLASS.enumeration:
      return metadata.size === 1 && isBoolean(metadata) ? "boolean" : `${metadata.signed ? "int" : "uint"}${bits}`;
    case TYPE_CLASS.string:
      return "string";
    case TYPE_CLASS.compound:
      return "compound";
    default:
      return "other";
  }
}

function isBoolean(metadata: ModuleMetadata): boolean {
  const members = Object.keys(metadata.enum_type?.members ?? {}).map((name) => name.toUpperCase());
  return members.length === 2 && members.includes("FALSE") && members.includes("TRUE");
}

export function isNumericType(type: string): boolean {
  return /^(u?int(8|16|32|64)|float(16|32|64)|boolean)$/.test(type);
}

/** Little-endian bytes as the module delivers them, to numbers. `place` names the dataset in a fault. */
export function decodeNumbers(bytes: Uint8Array<ArrayBuffer>, type: string, place: string): Result<NumericArray> {
  const { buffer } = bytes;
  switch (type) {
    case "uint8":
    case "boolean":
      return success(bytes);
    case "int8":
      return success(new Int8Array(buffer));
    case "uint16":
      return success(new Uint16Array(buffer));
    case "int16":
      return success(new Int16Array(buffer));
    case "uint32":
      return success(new Uint32Array(buffer));
    case "int32":
      return success(new Int32Array(buffer));
    case "float32":
      return success(new Float32Array(buffer));
    case "float64":
      return success(new Float64Array(buffer));
    case "float16":
      return success(decodeHalves(new Uint16Array(buffer)));
    case "int64":
      return wholeNumbers(new BigInt64Array(buffer), place);
    case "uint64":
      return wholeNumbers(new BigUint64Array(buffer), place);
    default:
      return failure("unsupported", `${place} holds values of type ${type}, which are not numbers this program reads`, {
        field: place,
      });
  }
}

/** 64-bit integers as float64, exactly. Beyond 2^53 a count could change by one in silence, so that is refused. */
export function wholeNumbers(values: BigInt64Array | BigUint64Array, place: string): Result<Float64Array<ArrayBuffer>> {
  const out = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) {
    const number = Number(values[i]!);
    if (!Number.isSafeInteger(number))
      return failure("out-of-range", `${place}[${i}] is ${values[i]}, beyond 2^53: it has no exact value here`, {
        field: place,
      });
    out[i] = number;
  }
  return success(out);
}

/** IEEE 754 binary16 to float32; every value is exact. */
export function decodeHalves(bits: Uint16Array): Float32Array<ArrayBuffer> {
  const out = new Float32Array(bits.length);
  for (let i = 0; i < bits.length; i++) {
    const half = bits[i]!;
    const exponent = (half >> 10) & 31;
    const fraction = half & 1023;
    const magnitude =
      exponent === 31
        ? fraction === 0
          ? Number.POSITIVE_INFINITY
          : Number.NaN
        : exponent === 0
          ? fraction / SMALLEST_HALF
          : ((1024 + fraction) / SMALLEST_HALF) * POWERS_OF_TWO[exponent - 1]!;
    out[i] = (half & 0x8000) === 0 ? magnitude : -magnitude;
  }
  return out;
}

/** 2^24: a subnormal half counts in units of 2^-24. */
const SMALLEST_HALF = 16_777_216;
const POWERS_OF_TWO = Array.from({ length: 30 }, (_, power) => 2 ** power);

const UTF8 = new TextDecoder("utf-8", { fatal: true });
const LATIN1 = new TextDecoder("latin1");

/** Text without its padding (nulls or blanks). Not UTF-8: read as Latin-1, which never fails. */
export function decodeText(bytes: Uint8Array): { readonly text: string; readonly isLatin1: boolean } {
  const end = bytes.indexOf(0);
  const content = end < 0 ? bytes : bytes.subarray(0, end);
  try {
    return { text: UTF8.decode(content).trimEnd(), isLatin1: false };
  } catch {
    return { text: LATIN1.decode(content).trimEnd(), isLatin1: true };
  }
}
