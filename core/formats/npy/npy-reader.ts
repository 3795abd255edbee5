import { failure, success } from "../../model/result.ts";
import { plainRun } from "../plain-run.ts";
import type { FormatReader } from "../reader.ts";
import { openNpyArray } from "./npy-array.ts";
import { hasNpyMagic } from "./npy-header.ts";

/** NPY arrays of rank 2 (a frame) and 3 (a stack of frames). They carry no metadata. */
export const npyReader: FormatReader = {
  id: "npy",
  title: "NPY array",
  choices: [],
  sniff: (head) => (hasNpyMagic(head) ? "yes" : "no"),
  async open(source, context) {
    const array = await openNpyArray(source);
    if (!array.ok) return array;
    const { shape, type, warnings } = array.value;
    if (shape.length < 2)
      return failure("unsupported", `${source.name} is a list of ${shape[0]} values, not a frame`, {
        file: source.name,
      });
    const [height, width] = shape.slice(-2) as [number, number];
    return success(
      plainRun({
        name: source.name,
        format: "npy",
        formatTitle: "NPY array",
        bankName: "array",
        path: "/",
        width,
        height,
        frames: shape.length === 3 ? shape[0]! : 1,
        counting: !type.startsWith("float"),
        rowOrder: "bottom-up",
        transpose: false,
        choice: context.choice,
        notes: ["NPY files carry no metadata", "columns are taken as x, rows as y from the bottom up"],
        warnings,
        readPixels: (index) => array.value.readFrame(index),
      }),
    );
  },
};
