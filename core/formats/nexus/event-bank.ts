import type { Frame, StackAxis } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";
import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import { checkFrameSize, expansionLimit, LIMITS } from "../limits.ts";
import { makeFrame } from "../make-frame.ts";
import { unitFactor } from "../units.ts";
import { detectorMask } from "./detector-mask.ts";
import { type EventHistogram, eventsFault, histogramEvents, pulseFault } from "./event-histogram.ts";
import { type EventList, pixelNumbers } from "./event-lists.ts";
import { fieldOf } from "./fields.ts";
import { frameLayout } from "./layout.ts";
import { collectMetadata } from "./metadata.ts";
import type { BankContext, OpenedBank } from "./opened-bank.ts";
import { pixelFinder } from "./pixel-finder.ts";
import { pixelGrid } from "./pixel-grid.ts";
import { type Tree, type TreeGroup, textAttribute } from "./tree.ts";

/**
 * A bank from a list of events (NeXus definition NXevent_data): the counts of each pixel, in bins of time of flight where
 * the detector gives their edges. The events are read at the first `readFrame`, block by block, and only their histogram
 * is kept.
 */
export async function openEventBank(
  tree: Tree,
  entry: TreeGroup,
  { group, detector }: EventList,
  { choice, source }: BankContext,
): Promise<Result<OpenedBank>> {
  const place = { file: tree.file.name, field: group.path };
  const fields = eventFields(tree, group, source.size);
  if (!fields.ok) return fields;
  const { ids, offsets, index, events } = fields.value;
  const numbers = pixelNumbers(detector);
  if (detector === undefined || numbers === undefined)
    return failure(
      "missing",
      `${group.path} holds ${events} events, but ${detector?.path ?? "the entry"} has no detector_number that says to which pixels they belong`,
      place,
    );
  const layout = pixelLayout(tree, detector, numbers);
  if (!layout.ok) return layout;
  const { width, height, transpose: foundTranspose } = layout.value;
  const pixels = width * height;
  const room = expansionLimit(source.size);
  if (pixels * numbers.bytesPerElement > room)
    return failure(
      "out-of-range",
      `${numbers.path} declares ${pixels} pixels in a file of ${source.size} bytes; the limit is ${room} bytes`,
      {
        ...place,
        field: numbers.path,
      },
    );
  for (const dataset of [ids, offsets, index, numbers]) {
    const ready = dataset === undefined ? success(undefined) : await tree.file.prepare(dataset.path);
    if (!ready.ok) return ready;
  }
  const read = tree.file.read(numbers.path);
  if (!read.ok) return read;
  const find = pixelFinder(read.value, numbers.path);
  if (!find.ok) return failure(find.fault.code, find.fault.message, { ...place, field: numbers.path });
  const bins = timeBins(tree, detector, group, { offsets, pixels, room });
  if (!bins.ok) return bins;
  const { axis, edges, frames } = bins.value;
  const masks = detectorMask(tree, detector, width, height, frames);
  if (!masks.ok) return masks;
  const transpose = choice.transpose ?? foundTranspose;
  const rowOrder = choice.rowOrder ?? "bottom-up";
  const metadata = collectMetadata(tree, entry, detector, { width, height, transpose });
  const warnings = listWarnings(tree, fields.value);
  if (!warnings.ok) return warnings;
  let made: EventHistogram | undefined;
  const histogram = (signal: AbortSignal): Result<EventHistogram> => {
    if (made !== undefined) return success(made);
    const lists = { file: tree.file, ids: ids.path, offsets: offsets?.path ?? "", events };
    const counted = histogramEvents(lists, pixels, find.value, edges, signal);
    if (!counted.ok) return counted;
    if (events > 0 && counted.value.unmapped === events)
      return failure("inconsistent", `${group.path}: no event belongs to a pixel of ${detector.path}`, place);
    made = counted.value;
    return counted;
  };
  return success({
    bank: {
      name: detector.name,
      path: group.path,
      width,
      height,
      frames,
      axis,
      counting: true,
      rowOrder,
      transpose,
      metadata: metadata.bank,
      async readFrame(at, signal): Promise<Result<Frame>> {
        signal.throwIfAborted();
        if (!(Number.isInteger(at) && at >= 0 && at < frames))
          return failure("out-of-range", `${group.path} has frames 0 to ${frames - 1}; there is no frame ${at}`, place);
        const counted = histogram(signal);
        if (!counted.ok) return counted;
        const mask = masks.value.maskOf(at);
        if (!mask.ok) return mask;
        const { saturation, underload } = masks.value;
        // A copy: the frame may change hands, the histogram stays for the frames after it.
        const counts = counted.value.counts.slice(at * pixels, (at + 1) * pixels);
        return success(
          makeFrame({
            width,
            height,
            counts,
            counting: true,
            rowOrder,
            transpose,
            mask: mask.value,
            saturation,
            underload,
            warnings: lossWarnings(counted.value, events, detector),
          }),
        );
      },
    },
    metadata: { ...metadata, warnings: [...metadata.warnings, ...warnings.value] },
    notes: [
      ...layout.value.notes,
      `${group.path}: ${events} events counted by pixel${pulseText(tree, fields.value)}`,
      ...bins.value.notes,
      ...metadata.notes,
    ],
  });
}

interface EventDatasets {
  readonly group: TreeGroup;
  readonly ids: Hdf5Dataset;
  readonly offsets: Hdf5Dataset | undefined;
  readonly index: Hdf5Dataset | undefined;
  readonly events: number;
}

/** Unpacked bytes of events that a file may hold for each of its own. */
const PACKING = 1000;

function eventFields(tree: Tree, group: TreeGroup, fileSize: number): Result<EventDatasets> {
  const place = { file: tree.file.name, field: group.path };
  const ids = group.datasets.get("event_id");
  if (ids === undefined)
    return failure("missing", `${group.path} has no event_id: it says of no event where it was`, place);
  if (ids.shape.length !== 1 || !/^u?int(8|16|32|64)$/.test(ids.type))
    return failure(
      "inconsistent",
      `${ids.path} is ${ids.shape.join(" x ") || "one value"} of type ${ids.type}; event ids are a list of whole numbers`,
      place,
    );
  const offsets = group.datasets.get("event_time_offset");
  if (offsets !== undefined && offsets.shape.join() !== ids.shape.join())
    return failure(
      "inconsistent",
      `${offsets.path} has ${offsets.shape.join(" x ")} values; there are ${ids.shape[0]} events`,
      {
        ...place,
        field: offsets.path,
      },
    );
  const events = ids.shape[0]!;
  const limit = Math.max(LIMITS.ratioFreeBytes, PACKING * fileSize);
  const claimed = eventsFault(ids.path, events * ids.bytesPerElement, limit);
  if (!claimed.ok) return failure(claimed.fault.code, claimed.fault.message, { ...place, field: ids.path });
  const index = group.datasets.get("event_index");
  return success({ group, ids, offsets, index: index?.shape.length === 1 ? index : undefined, events });
}

/** Rows and columns of the bank by the shape of its pixel numbers, or by what a list of them is laid out by. */
function pixelLayout(
  tree: Tree,
  detector: TreeGroup,
  numbers: Hdf5Dataset,
): Result<{
  readonly width: number;
  readonly height: number;
  readonly transpose: boolean;
  readonly notes: readonly string[];
}> {
  const place = { file: tree.file.name, field: numbers.path };
  const kept = numbers.shape.filter((length) => length !== 1);
  if (!/^u?int(8|16|32|64)$/.test(numbers.type))
    return failure("inconsistent", `${numbers.path} is of type ${numbers.type}; pixel numbers are whole`, place);
  if (kept.length > 2) {
    // Tubes in packs, pixels along the last: one row a tube.
    const width = kept.at(-1)!;
    const height = kept.slice(0, -1).reduce((product, length) => product * length, 1);
    const size = checkFrameSize(numbers.path, width, height);
    const notes = [`${numbers.path} is ${numbers.shape.join(" x ")}: all dimensions but the last are taken as rows`];
    return size.ok
      ? success({ width, height, transpose: false, notes })
      : failure(size.fault.code, size.fault.message, place);
  }
  const grid = pixelGrid(numbers, [detector]);
  if (kept.length < 2 && grid === undefined)
    return failure(
      "missing",
      `${numbers.path} lists ${numbers.shape.join(" x ") || "one"} pixels; no x_pixel_offset or y_pixel_offset of ${detector.path} says in which rows they lie`,
      place,
    );
  const layout = frameLayout(
    tree,
    { dataset: numbers, group: detector, detector, ...(grid !== undefined && { grid }) },
    undefined,
  );
  const size = checkFrameSize(numbers.path, layout.width, layout.height);
  return size.ok ? success(layout) : failure(size.fault.code, size.fault.message, place);
}

/** Of one pixel in one time of flight. */
const COUNT_BYTES = 4;

interface TimeBins {
  readonly axis: StackAxis;
  /** In the unit of the offsets; absent: all events of a pixel are one count. */
  readonly edges?: Float64Array;
  readonly frames: number;
  readonly notes: readonly string[];
}

/** Bins by the edges that the detector gives in `time_of_flight`; without them one frame of all events. */
function timeBins(
  tree: Tree,
  detector: TreeGroup,
  group: TreeGroup,
  {
    offsets,
    pixels,
    room,
  }: { readonly offsets: Hdf5Dataset | undefined; readonly pixels: number; readonly room: number },
): Result<TimeBins> {
  const together = (notes: readonly string[]): Result<TimeBins> =>
    success({ axis: { kind: "none" }, frames: 1, notes });
  const dataset = detector.datasets.get("time_of_flight") ?? group.datasets.get("time_of_flight");
  if (dataset === undefined || offsets === undefined) return together(["events of all times of flight are one frame"]);
  const field = fieldOf(tree, dataset);
  const [unit, offsetUnit] = [field?.unit ?? "us", textAttribute(offsets.attributes, "units") ?? "us"];
  const [seconds, offsetSeconds] = [unitFactor("time", unit), unitFactor("time", offsetUnit)];
  if (field === undefined || seconds === undefined || offsetSeconds === undefined)
    return failure("inconsistent", `${dataset.path} (${unit}) and ${offsets.path} (${offsetUnit}) are not both times`, {
      file: tree.file.name,
      field: dataset.path,
    });
  const frames = field.values.length - 1;
  if (frames < 1 || field.values.some((value, i) => i > 0 && !(value > field.values[i - 1]!)))
    return together([`${dataset.path} is no list of growing edges: events of all times of flight are one frame`]);
  const most = Math.min(LIMITS.framePixels, room / COUNT_BYTES);
  if (frames * pixels > most)
    return together([
      `${dataset.path} would make ${frames} frames of ${pixels} pixels, more than ${most} counts: events of all times of flight are one frame`,
    ]);
  return success({
    axis: { kind: "time", unit: "s", values: field.values.map((value) => value * seconds) },
    edges: seconds === offsetSeconds ? field.values : field.values.map((value) => (value * seconds) / offsetSeconds),
    frames,
    notes: [`${dataset.path} gives the edges of ${frames} times of flight`],
  });
}

function listWarnings(tree: Tree, { group, index, events }: EventDatasets): Result<readonly string[]> {
  const warnings: string[] = [];
  if (events === 0) warnings.push(`${group.path} holds no event`);
  if (index !== undefined) {
    const wrong = pulseFault(tree.file, index.path, index.shape[0]!, events);
    if (!wrong.ok) return wrong;
    if (wrong.value !== undefined)
      warnings.push(`${wrong.value}: pulses can't be told apart; the counts don't need them`);
  }
  const total = group.datasets.get("total_counts");
  const stated = total === undefined ? undefined : fieldOf(tree, total)?.values[0];
  if (stated !== undefined && stated !== events)
    warnings.push(`${group.path}/total_counts is ${stated}; the list holds ${events} events`);
  return success(warnings);
}

function lossWarnings({ unmapped, outside }: EventHistogram, events: number, detector: TreeGroup): string[] {
  return [
    ...(unmapped > 0 ? [`${unmapped} of ${events} events belong to no pixel of ${detector.path}: not counted`] : []),
    ...(outside > 0 ? [`${outside} of ${events} events lie outside the times of flight: not counted`] : []),
  ];
}

/** Over which time the pulses came, in the words of the file. */
function pulseText(tree: Tree, { group }: EventDatasets): string {
  const zero = group.datasets.get("event_time_zero");
  const pulses = zero?.shape[0];
  if (zero === undefined || zero.shape.length !== 1 || pulses === undefined || pulses === 0) return "";
  const ends = [0, pulses - 1].map((at) => tree.file.read(zero.path, [[at, at + 1]]));
  const [first, last] = ends.map((end) => (end.ok ? end.value[0]! : Number.NaN));
  const unit = textAttribute(zero.attributes, "units") ?? "";
  const offset = textAttribute(zero.attributes, "offset") ?? textAttribute(zero.attributes, "start");
  const since = offset === undefined ? "" : ` after ${offset}`;
  return `, ${pulses} pulses from ${first} to ${last} ${unit}${since}`.replace(/ +/g, " ");
}
