import { averageEstimate } from "../averaging/average.ts";
import { qxMap, qyMap } from "../geometry/maps.ts";
import { type AnisotropyGround, qStepOfPixel } from "./ground.ts";

/**
 * A corrected frame on a regular grid of Qx and Qy, 1/angstrom: x to the right and y up as displayed. Row-major, row 0
 * the lowest Qy. Cells without a pixel: NaN in intensity and sigma, 0 in counts, norm and pixels.
 */
export interface QxQyGrid {
  readonly width: number;
  readonly height: number;
  /** Middles of the columns and of the rows. */
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  readonly step: number;
  readonly intensity: Float64Array;
  readonly sigma: Float64Array;
  readonly counts: Float64Array;
  readonly norm: Float64Array;
  readonly pixels: Float64Array;
}

/** Cells; a grid that is finer by mistake must not take all memory. */
const MOST_CELLS = 16_777_216;

/**
 * Each unmasked pixel goes whole into the cell that its centre falls into, and a cell is a bin like any other:
 * I = sum(signal)/sum(norm). So counts and norms of the grid add up to the frame's own, and no noise is smoothed.
 * Q = 0 is the middle of a cell.
 *
 * @param step width of a cell, 1/angstrom; left out: the pitch of the pixels near the beam, the finest without gaps
 * @throws RangeError on a step that is not > 0, or so fine that the grid would have more than 2^24 cells
 */
export function qxQyGrid({ estimate, geometry }: AnisotropyGround, step = coarsestStep(geometry)): QxQyGrid {
  if (!(step > 0 && Number.isFinite(step))) throw new RangeError(`a cell must be wider than 0 1/A, not ${step}`);
  const [qx, qy] = [qxMap(geometry), qyMap(geometry)];
  const across = cellRange(qx, estimate.mask, step);
  const up = cellRange(qy, estimate.mask, step);
  const [width, height] = [across.count, up.count];
  const count = width * height;
  if (count > MOST_CELLS)
    throw new RangeError(`a step of ${step} 1/A would make ${count} cells; ${MOST_CELLS} is most`);
  const index = new Int32Array(qx.length).fill(-1);
  for (let p = 0; p < index.length; p++)
    if (estimate.mask[p] === 0)
      index[p] = (cellOf(qy[p]!, step) - up.first) * width + cellOf(qx[p]!, step) - across.first;
  const { bin, ...columns } = averageEstimate(estimate, { index, count, edges: new Float64Array(0) });
  const spread = (values: Float64Array, empty: number) => {
    const map = new Float64Array(count).fill(empty);
    for (let b = 0; b < bin.length; b++) map[bin[b]!] = values[b]!;
    return map;
  };
  return {
    width,
    height,
    qx: Float64Array.from({ length: width }, (_, i) => (across.first + i) * step),
    qy: Float64Array.from({ length: height }, (_, i) => (up.first + i) * step),
    step,
    intensity: spread(columns.intensity, Number.NaN),
    sigma: spread(columns.sigma, Number.NaN),
    counts: spread(columns.counts, 0),
    norm: spread(columns.norm, 0),
    pixels: spread(columns.pixels, 0),
  };
}

/** The wider of the two pitches: with the narrower one, every other column of an oblong bank would be empty. */
function coarsestStep(geometry: AnisotropyGround["geometry"]): number {
  const { pixelSizeX, pixelSizeY } = geometry;
  return (qStepOfPixel(geometry) * Math.max(pixelSizeX, pixelSizeY)) / Math.min(pixelSizeX, pixelSizeY);
}

function cellOf(q: number, step: number): number {
  return Math.floor(q / step + 0.5);
}

function cellRange(
  q: Float64Array,
  mask: Uint16Array,
  step: number,
): { readonly first: number; readonly count: number } {
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let p = 0; p < q.length; p++) {
    if (mask[p] !== 0) continue;
    const cell = cellOf(q[p]!, step);
    if (cell < first) first = cell;
    if (cell > last) last = cell;
  }
  return last >= first ? { first, count: last - first + 1 } : { first: 0, count: 0 };
}
