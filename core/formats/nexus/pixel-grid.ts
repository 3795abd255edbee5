import { isNumericType } from "../hdf5/decode-values.ts";
import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import type { TreeGroup } from "./tree.ts";

/** How a list of pixels is laid out as a picture. */
export interface PixelGrid {
  readonly rows: number;
  readonly columns: number;
  /** The field whose shape says so. */
  readonly from: string;
}

/** Fields of an NXdetector with one value a pixel, in the shape of the detector (NeXus definition NXdetector). */
const PIXEL_FIELDS = ["detector_number", "x_pixel_offset", "y_pixel_offset"];

/**
 * Rows and columns of a dataset whose last dimension lists all pixels of a detector, by a field of rank 2 with as many
 * values, else by offsets along both axes whose lengths multiply to it (x runs fastest then). Undefined where the dataset
 * has rows and columns of its own.
 */
export function pixelGrid(
  { shape, type }: Hdf5Dataset,
  homes: readonly (TreeGroup | undefined)[],
): PixelGrid | undefined {
  const last = shape.at(-1);
  if (last === undefined || last < 2 || shape.includes(0) || !isNumericType(type)) return undefined;
  for (const home of homes)
    for (const name of PIXEL_FIELDS) {
      const field = home?.datasets.get(name);
      const [rows = 0, columns = 0] = field?.shape ?? [];
      if (field?.shape.length === 2 && rows > 1 && columns > 1 && rows * columns === last)
        return { rows, columns, from: field.path };
    }
  for (const home of homes) {
    const x = home?.datasets.get("x_pixel_offset");
    const y = home?.datasets.get("y_pixel_offset");
    const [columns, rows] = [lengthOf(x), lengthOf(y)];
    if (columns > 1 && rows > 1 && rows * columns === last) return { rows, columns, from: `${y!.path} and ${x!.path}` };
  }
  return undefined;
}

/** Values of a field with one along an axis; 0 for any other. */
function lengthOf(field: Hdf5Dataset | undefined): number {
  return field?.shape.length === 1 ? field.shape[0]! : 0;
}
