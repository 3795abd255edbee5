import type { StackAxis } from "../../model/frame.ts";
import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import { unitFactor } from "../units.ts";
import { fieldOf } from "./fields.ts";
import type { FrameDataset } from "./find-frames.ts";
import type { PixelGrid } from "./pixel-grid.ts";
import { type Tree, textAttribute } from "./tree.ts";

/** Which dimension of a dataset is what. */
export interface FrameLayout {
  readonly width: number;
  readonly height: number;
  readonly frames: number;
  readonly axis: StackAxis;
  /** Stored rows run along x. */
  readonly transpose: boolean;
  readonly notes: readonly string[];
  /** What to read for one frame: per dimension [start, end). */
  slice(frame: number): (readonly [number, number])[];
}

/**
 * Works out rows, columns and stack of a dataset. Dimensions run slow to fast: scan points, pixels, time of flight
 * (NeXus manual, NXdetector); those of length 1 are dropped. Of rank 3, the last is time of flight where a field of that
 * name has its length, or the definition says so; else the first is the stack.
 */
export function frameLayout(tree: Tree, frame: FrameDataset, definition: string | undefined): FrameLayout {
  if (frame.grid !== undefined) return listLayout(frame.dataset, frame.grid);
  const { shape } = frame.dataset;
  const names = axisNames(frame);
  const kept = shape.flatMap((length, dimension) =>
    length > 1 ? [{ length, dimension, name: names?.[dimension] }] : [],
  );
  const notes: string[] = [];
  const tof = kept.length > 2 ? flightTimes(tree, frame, kept.at(-1)!.length, definition) : undefined;
  if (kept.length > 4 || (kept.length === 4 && tof === undefined))
    notes.push(`rank ${shape.length}: all dimensions but the last two are taken as one stack`);
  const pixelEnd = tof === undefined ? kept.length : kept.length - 1;
  const rows = kept[pixelEnd - 2]!;
  const columns = kept[pixelEnd - 1]!;
  const stack = kept.filter((_, i) => i < pixelEnd - 2 || i >= pixelEnd);
  const frames = stack.reduce((product, { length }) => product * length, 1);
  if (kept.length === 3 && tof === undefined)
    notes.push(`${frame.dataset.path}: the first of ${shape.join(" x ")} is taken as a stack of frames`);
  const transpose = isXFirst(frame, rows, columns, notes);
  const axis: StackAxis =
    stack.length === 0 ? { kind: "none" } : stack.length === 1 && tof !== undefined ? tof : { kind: "frame" };
  return {
    width: columns.length,
    height: rows.length,
    frames,
    axis,
    transpose,
    notes,
    slice: (index) => sliceOf(shape, stack, index),
  };
}

/** Pixels in one list, in the order of the grid's rows; the dimensions before it are the stack. */
function listLayout({ path, shape }: Hdf5Dataset, { rows, columns, from }: PixelGrid): FrameLayout {
  const stack = shape.slice(0, -1);
  const frames = stack.reduce((product, length) => product * length, 1);
  return {
    width: columns,
    height: rows,
    frames,
    axis: frames === 1 ? { kind: "none" } : { kind: "frame" },
    transpose: false,
    notes: [`${path} lists its pixels: ${rows} rows of ${columns}, the shape of ${from}`],
    slice: (index) =>
      sliceOf(
        shape,
        stack.map((length, dimension) => ({ length, dimension })),
        index,
      ),
  };
}

/** What to read of `shape` for one index into `stack`, whose last dimension runs fastest. */
function sliceOf(
  shape: readonly number[],
  stack: readonly { readonly length: number; readonly dimension: number }[],
  index: number,
): (readonly [number, number])[] {
  const ranges = shape.map((length) => [0, length] as readonly [number, number]);
  let rest = index;
  for (const { dimension, length } of [...stack].reverse()) {
    const at = rest % length;
    rest = (rest - at) / length;
    ranges[dimension] = [at, at + 1];
  }
  return ranges;
}

interface Side {
  readonly length: number;
  readonly name: string | undefined;
}

/** `@axes` in its variants: an array, or one text with ":", "," or blanks between names. */
function axisNames({ dataset, group }: FrameDataset): readonly string[] | undefined {
  const value = group.attributes.get("axes") ?? dataset.attributes.get("axes");
  if (value === undefined) return undefined;
  const names = Array.isArray(value)
    ? value.map(String)
    : String(value)
        .replace(/[[\]]/g, "")
        .split(/[:,\s]+/);
  const meant = names.map((name) => name.trim()).filter((name) => name !== "");
  return meant.length === dataset.shape.length ? meant : undefined;
}

function flightTimes(
  tree: Tree,
  { detector, group }: FrameDataset,
  length: number,
  definition: string | undefined,
): StackAxis | undefined {
  for (const home of [detector, group]) {
    const dataset = home?.datasets.get("time_of_flight");
    const field = dataset === undefined ? undefined : fieldOf(tree, dataset);
    if (field === undefined || (field.values.length !== length && field.values.length !== length + 1)) continue;
    const factor = unitFactor("time", field.unit ?? "us");
    if (factor === undefined) continue;
    return { kind: "time", unit: "s", values: field.values.map((value) => value * factor) };
  }
  return definition === "NXsastof" ? { kind: "time" } : undefined;
}

const X_NAME = /^(x|horizontal)([_ -]|$)|_x$/i;
const Y_NAME = /^(y|vertical)([_ -]|$)|_y$/i;

/**
 * True where the file says that rows run along x: by the names of both axes, else by the lengths of fields that name x
 * and y where the sides differ. NXsas means data[x][y] and imaging practice data[y][x], so nothing is decided by the
 * definition's name; on a square detector without named axes the stored order is kept and said.
 */
function isXFirst({ dataset, detector, group }: FrameDataset, rows: Side, columns: Side, notes: string[]): boolean {
  if (rows.name !== undefined && columns.name !== undefined) {
    if (X_NAME.test(rows.name) && Y_NAME.test(columns.name)) {
      notes.push(`axes of ${dataset.path} are ${rows.name}, ${columns.name}: rows run along x (transpose)`);
      return true;
    }
    if (Y_NAME.test(rows.name) && X_NAME.test(columns.name)) return false;
  }
  const lengths = { x: sideLength([detector, group], "x"), y: sideLength([detector, group], "y") };
  if (rows.length !== columns.length && lengths.x === rows.length && lengths.y === columns.length) {
    notes.push(`the x axis has ${lengths.x} values, as many as there are rows: rows run along x (transpose)`);
    return true;
  }
  if (rows.length === columns.length)
    notes.push("nothing in the file says which array axis is x: columns are taken as x, rows as y");
  return false;
}

function sideLength(homes: readonly (FrameDataset["group"] | undefined)[], letter: "x" | "y"): number | undefined {
  for (const home of homes)
    for (const name of [`${letter}_pixel_offset`, `detector_${letter}`, letter]) {
      const shape = home?.datasets.get(name)?.shape.filter((n) => n > 1);
      if (shape?.length === 1) return shape[0];
    }
  return undefined;
}

/** True where the dataset's own attributes put its values in another order than rows of columns. */
export function hasForeignOrder({ dataset }: FrameDataset): boolean {
  return textAttribute(dataset.attributes, "stride") !== undefined;
}
