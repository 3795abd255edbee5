import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { decodeFrame, encodeFrame } from "../../core/host-frame.ts";

function roundTrip(value: unknown): unknown {
  const decoded = decodeFrame(encodeFrame(value));
  if (!decoded.ok) throw new Error(decoded.fault.message);
  return decoded.value;
}

/** A frame with this text as its head, and nothing behind it. */
function frameOf(head: string, partBytes = 0): Uint8Array<ArrayBuffer> {
  const text = new TextEncoder().encode(head);
  const frame = new Uint8Array(Math.ceil((4 + text.length) / 8) * 8 + partBytes);
  new DataView(frame.buffer).setUint32(0, text.length, true);
  frame.set(text, 4);
  return frame;
}

describe("a frame between window and host", () => {
  it("carries what JSON loses: NaN, infinities, -0, undefined and empty slots of a record", () => {
    const value = { a: Number.NaN, b: Number.POSITIVE_INFINITY, c: Number.NEGATIVE_INFINITY, d: -0, e: undefined };
    const back = roundTrip(value) as typeof value;
    expect(back).toStrictEqual(value);
    expect(Object.is(back.d, -0)).toBe(true);
    expect(Object.hasOwn(back, "e")).toBe(true);
    expect(roundTrip(undefined)).toBeUndefined();
  });

  it.each([
    new Uint8Array([1, 255, 0]),
    new Int8Array([-1]),
    new Uint16Array([65535]),
    new Int16Array([-32768]),
    new Uint32Array([4294967295]),
    new Int32Array([-5]),
    new Float32Array([0.5, Number.NaN]),
    new Float64Array([Math.PI, -0, Number.POSITIVE_INFINITY]),
    new Uint8Array(0),
  ])("carries %s with its type and bits", (array) => {
    const back = roundTrip({ before: new Uint8Array([7]), array, after: [array] }) as { array: typeof array };
    expect(back.array).toStrictEqual(array);
    expect(back.array.byteOffset).toBe(0);
  });

  it("carries a view of a longer buffer as the view alone", () => {
    const whole = new Float64Array([1, 2, 3, 4]);
    const back = roundTrip(whole.subarray(1, 3)) as Float64Array;
    expect(back).toStrictEqual(new Float64Array([2, 3]));
    expect(back.buffer.byteLength).toBe(16);
  });

  it("reads a frame that starts at an odd address of its buffer", () => {
    const frame = encodeFrame({ counts: new Float64Array([1.5, 2.5]) });
    const shifted = new Uint8Array(frame.length + 3);
    shifted.set(frame, 3);
    expect(decodeFrame(shifted.subarray(3))).toStrictEqual({
      ok: true,
      value: { counts: new Float64Array([1.5, 2.5]) },
    });
  });

  it("starts each part at a multiple of eight bytes", () => {
    const frame = encodeFrame([new Uint8Array([9]), new Float64Array([0])]);
    const headLength = new DataView(frame.buffer).getUint32(0, true);
    const start = Math.ceil((4 + headLength) / 8) * 8;
    expect(frame[start]).toBe(9);
    expect(frame.length).toBe(start + 8 + 8);
  });

  it("keeps an object's own keys, whatever they are called", () => {
    const value = { $bin: "f64", at: 0, n: 5, $value: "NaN", plain: { $object: [1] } };
    expect(roundTrip(value)).toStrictEqual(value);
    const odd = JSON.parse('{"__proto__": {"polluted": true}}') as object;
    expect(JSON.stringify(roundTrip(odd))).toBe('{"__proto__":{"polluted":true}}');
    expect(({} as Record<string, unknown>)["polluted"]).toBeUndefined();
  });

  it("brings any plain value back as it was", () => {
    const value = fc.letrec((tie) => ({
      any: fc.oneof(
        { maxDepth: 4 },
        fc.double(),
        fc.string({ unit: "grapheme" }),
        fc.boolean(),
        fc.constantFrom(null, undefined),
        fc.float64Array({ maxLength: 5 }),
        fc.uint8Array({ maxLength: 5 }),
        fc.array(tie("any"), { maxLength: 4 }),
        fc.dictionary(fc.oneof(fc.string(), fc.constantFrom("$bin", "$value", "$object")), tie("any"), {
          maxKeys: 4,
          noNullPrototype: true,
        }),
      ),
    })).any;
    fc.assert(
      fc.property(value, (one) => {
        expect(roundTrip(one)).toStrictEqual(one);
      }),
      { seed: 20261, numRuns: 300 },
    );
  });

  it("refuses values that can't travel", () => {
    const circle: unknown[] = [];
    circle.push(circle);
    for (const value of [() => 1, 1n, new Date(0), new Map(), Symbol("x"), new DataView(new ArrayBuffer(1)), circle])
      expect(() => encodeFrame(value)).toThrow(TypeError);
  });

  it.each([
    ["no bytes", new Uint8Array(0)],
    ["a head longer than the frame", new Uint8Array([255, 255, 255, 255, 0])],
    ["a head that is no JSON", frameOf("{")],
    ["a head that is no UTF-8", new Uint8Array([1, 0, 0, 0, 255])],
    ["an array beyond the end", frameOf('{"$bin":"f64","at":0,"n":2}', 8)],
    ["an array at a crooked place", frameOf('{"$bin":"u8","at":1,"n":1}', 8)],
    ["an array of negative length", frameOf('{"$bin":"u8","at":0,"n":-1}', 8)],
    ["an array type that is inherited", frameOf('{"$bin":"constructor","at":0,"n":1}', 8)],
    ["an unknown value", frameOf('{"$value":"toString"}')],
    ["an object without keys", frameOf('{"$object":[1]}')],
    ["endless nesting", frameOf("[".repeat(5000) + "]".repeat(5000))],
  ])("answers %s with a fault, not an exception", (_, frame) => {
    const decoded = decodeFrame(frame);
    expect(decoded).toMatchObject({ ok: false, fault: { code: "unreadable" } });
  });

  it("answers any cut with a fault or, for padding alone, the same value", () => {
    const value = { counts: new Float64Array([1, 2, 3]), name: "frame" };
    const frame = encodeFrame(value);
    for (let length = 0; length < frame.length; length++) expect(decodeFrame(frame.slice(0, length)).ok).toBe(false);
  });
});
