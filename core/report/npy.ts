const MAGIC = [0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59];
/** magic, version (2 bytes), header length (2 bytes) */
const PREFIX = MAGIC.length + 4;
const ALIGNMENT = 64;

/**
 * A map as an NPY file of version 1.0: little-endian float64 or uint16, C order, shape (height, width), data from a
 * multiple of 64 bytes.
 * @see https://numpy.org/doc/stable/reference/generated/numpy.lib.format.html
 */
export function npyBytes(
  values: Float64Array | Uint16Array,
  shape: { readonly width: number; readonly height: number },
): Uint8Array<ArrayBuffer> {
  const { width, height } = shape;
  if (values.length !== width * height)
    throw new RangeError(`${values.length} values for a map of ${width} x ${height}`);

  const descr = values instanceof Float64Array ? "<f8" : "<u2";
  const dictionary = `{'descr': '${descr}', 'fortran_order': False, 'shape': (${height}, ${width}), }`;
  const length = Math.ceil((PREFIX + dictionary.length + 1) / ALIGNMENT) * ALIGNMENT - PREFIX;
  const header = `${dictionary.padEnd(length - 1, " ")}\n`;

  const bytes = new Uint8Array(PREFIX + length + values.byteLength);
  const view = new DataView(bytes.buffer);
  bytes.set(MAGIC);
  bytes.set([1, 0], MAGIC.length);
  view.setUint16(MAGIC.length + 2, length, true);
  for (let i = 0; i < length; i++) bytes[PREFIX + i] = header.charCodeAt(i);

  const start = PREFIX + length;
  const isFloat = values instanceof Float64Array;
  for (let p = 0; p < values.length; p++) {
    if (isFloat) view.setFloat64(start + 8 * p, values[p]!, true);
    else view.setUint16(start + 2 * p, values[p]!, true);
  }
  return bytes;
}
