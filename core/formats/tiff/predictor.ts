export interface PredictedBlock {
  readonly blockWidth: number;
  readonly bits: number;
  readonly predictor: 1 | 2 | 3;
  readonly littleEndian: boolean;
}

/**
 * Undoes the predictor of a block in place: 2, differences along the row, modulo 2^bits (TIFF 6.0, section 14); 3, the
 * bytes of floats apart and most significant first, then differences of bytes (Technical Note 3 to TIFF 6.0).
 * The values keep the byte order of the file.
 */
export function undoPredictor(block: Uint8Array<ArrayBuffer>, page: PredictedBlock): void {
  const rowBytes = (page.blockWidth * page.bits) / 8;
  for (let start = 0; start + rowBytes <= block.length; start += rowBytes) {
    const row = block.subarray(start, start + rowBytes);
    if (page.predictor === 2) addUp(row, page.bits, page.littleEndian);
    else gatherFloats(row, page.bits / 8, page.littleEndian);
  }
}

function addUp(row: Uint8Array, bits: number, littleEndian: boolean): void {
  const view = new DataView(row.buffer, row.byteOffset, row.length);
  let sum = 0;
  if (bits === 8) {
    for (let at = 0; at < row.length; at++) row[at] = sum = (sum + row[at]!) & 0xff;
  } else if (bits === 16) {
    for (let at = 0; at < row.length; at += 2) {
      sum = (sum + view.getUint16(at, littleEndian)) & 0xffff;
      view.setUint16(at, sum, littleEndian);
    }
  } else {
    for (let at = 0; at < row.length; at += 4) {
      sum = (sum + view.getUint32(at, littleEndian)) >>> 0;
      view.setUint32(at, sum, littleEndian);
    }
  }
}

function gatherFloats(row: Uint8Array, size: number, littleEndian: boolean): void {
  for (let at = 1; at < row.length; at++) row[at] = (row[at]! + row[at - 1]!) & 0xff;
  const apart = row.slice();
  const n = row.length / size;
  for (let i = 0; i < n; i++)
    for (let b = 0; b < size; b++) row[size * i + (littleEndian ? size - 1 - b : b)] = apart[b * n + i]!;
}
