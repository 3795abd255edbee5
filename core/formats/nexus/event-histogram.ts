import { failure, type Result, success } from "../../model/result.ts";
import type { Hdf5File } from "../hdf5/hdf5-file.ts";
import type { PixelFinder } from "./pixel-finder.ts";

/** Events that are read at once, so that memory does not grow with the run. */
export const EVENT_BLOCK = 2 ** 20;
/** Counts of a pixel fit into 32 bits as long as there are no more events than this. */
const COUNTS_IN_32_BITS = 2 ** 32 - 1;

export interface EventFields {
  readonly file: Hdf5File;
  /** One-dimensional datasets of `events` entries; `offsets` is not read without `edges`. */
  readonly ids: string;
  readonly offsets: string;
  readonly events: number;
}

/** What the events of a bank add up to: frame after frame, each in the order of its pixels. */
export interface EventHistogram {
  readonly counts: Uint32Array | Float64Array;
  /** Events whose id is no pixel's. */
  readonly unmapped: number;
  /** Events of a pixel that came before the first or after the last edge; 0 without edges. */
  readonly outside: number;
}

/**
 * Counts the events of each pixel, and of each time bin where `edges` are given: bin b holds edges[b] <= t < edges[b + 1],
 * the last one its upper edge too. Sum of counts + unmapped + outside = events.
 *
 * @param edges increasing, in the unit of the offsets
 */
export function histogramEvents(
  { file, ids, offsets, events }: EventFields,
  pixels: number,
  find: PixelFinder,
  edges: Float64Array | undefined,
  signal: AbortSignal,
): Result<EventHistogram> {
  const bins = edges === undefined ? 1 : edges.length - 1;
  const counts = events <= COUNTS_IN_32_BITS ? new Uint32Array(pixels * bins) : new Float64Array(pixels * bins);
  let unmapped = 0;
  let outside = 0;
  for (let start = 0; start < events; start += EVENT_BLOCK) {
    signal.throwIfAborted();
    const slice = [[start, Math.min(start + EVENT_BLOCK, events)]] as const;
    const block = file.read(ids, slice);
    if (!block.ok) return block;
    const times = edges === undefined ? undefined : file.read(offsets, slice);
    if (times !== undefined && !times.ok) return times;
    const read = block.value;
    for (let i = 0; i < read.length; i++) {
      const pixel = find(read[i]!);
      if (pixel < 0) {
        unmapped++;
        continue;
      }
      const bin = edges === undefined ? 0 : binOf(edges, times!.value[i]!);
      if (bin < 0) outside++;
      else counts[bin * pixels + pixel]! += 1;
    }
  }
  return success({ counts, unmapped, outside });
}

/** -1 before the first edge, after the last one, and for what is no number. */
function binOf(edges: Float64Array, time: number): number {
  const last = edges.length - 1;
  if (!(time >= edges[0]! && time <= edges[last]!)) return -1;
  let low = 0;
  let high = last - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (edges[middle]! <= time) low = middle;
    else high = middle - 1;
  }
  return low;
}

/**
 * Why `event_index` does not divide the events into pulses, where it should: entry j is the first event of pulse j, equal
 * neighbours are empty pulses. Undefined: it does.
 */
export function pulseFault(file: Hdf5File, index: string, pulses: number, events: number): Result<string | undefined> {
  let before = 0;
  for (let start = 0; start < pulses; start += EVENT_BLOCK) {
    const block = file.read(index, [[start, Math.min(start + EVENT_BLOCK, pulses)]]);
    if (!block.ok) return block;
    for (let i = 0; i < block.value.length; i++) {
      const at = block.value[i]!;
      const pulse = start + i;
      if (pulse === 0 && at !== 0) return success(`${index}[0] is ${at}; the first pulse begins at event 0`);
      if (at < before) return success(`${index}[${pulse}] is ${at}, less than the ${before} before it`);
      if (at > events) return success(`${index}[${pulse}] is ${at}; there are ${events} events`);
      before = at;
    }
  }
  return success(undefined);
}

/** Refuses a list that could not be in the file: chunks that were never written take no place, so any length can be claimed. */
export function eventsFault(path: string, bytes: number, limit: number): Result<undefined> {
  return bytes <= limit
    ? success(undefined)
    : failure(
        "out-of-range",
        `${path} declares ${bytes} bytes of events; the limit for a file of this size is ${limit}`,
        {
          field: path,
        },
      );
}
