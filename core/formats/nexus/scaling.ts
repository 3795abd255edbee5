import type { PixelArray } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { fieldOf } from "./fields.ts";
import type { FrameDataset } from "./find-frames.ts";
import type { Tree } from "./tree.ts";

/** What turns stored values into meant ones: (value + offset) x factor (NeXus manual, rules for storing data items). */
export interface Scaling {
  readonly factor: number;
  readonly offset: number;
  readonly note: string;
}

/** NAME_scaling_factor and NAME_offset beside a dataset; undefined where there is nothing to do. */
export function readScaling(tree: Tree, { dataset, group, detector }: FrameDataset): Result<Scaling | undefined> {
  const name = dataset.path.slice(dataset.path.lastIndexOf("/") + 1);
  const number = (suffix: string, absent: number): Result<number> => {
    const key = `${name}_${suffix}`;
    const found = group.datasets.get(key) ?? detector?.datasets.get(key);
    if (found === undefined) return success(absent);
    const field = fieldOf(tree, found);
    const value = field?.values.length === 1 ? field.values[0]! : Number.NaN;
    if (Number.isFinite(value)) return success(value);
    const place = { file: tree.file.name, field: found.path };
    return failure(
      "unsupported",
      `${found.path} is not one finite number: ${dataset.path} can't be scaled by it`,
      place,
    );
  };
  const factor = number("scaling_factor", 1);
  if (!factor.ok) return factor;
  const offset = number("offset", 0);
  if (!offset.ok) return offset;
  if (factor.value === 1 && offset.value === 0) return success(undefined);
  const note = `${dataset.path}: values are (stored ${offset.value < 0 ? "-" : "+"} ${Math.abs(offset.value)}) x ${factor.value}, by ${name}_scaling_factor and ${name}_offset`;
  return success({ factor: factor.value, offset: offset.value, note });
}

export function scaled(values: PixelArray, { factor, offset }: Scaling): Float64Array<ArrayBuffer> {
  const out = new Float64Array(values.length);
  for (let p = 0; p < out.length; p++) out[p] = (values[p]! + offset) * factor;
  return out;
}
