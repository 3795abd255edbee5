import type { Sourced } from "../../model/metadata.ts";
import { unitFactor } from "../units.ts";
import type { MetadataCollector } from "./collect.ts";
import { type Field, numberField } from "./fields.ts";
import type { Tree, TreeGroup } from "./tree.ts";

/** A recorded centre may lie outside the frame by this part of its size and still be meant in pixels. */
const MARGIN = 0.2;

const NAMES: readonly (readonly [string, string])[] = [
  ["beam_center_x_pixel", "beam_center_y_pixel"],
  ["beam_center_x", "beam_center_y"],
  ["beam_centre_x", "beam_centre_y"],
  ["beam_centre_x_pixel", "beam_centre_y_pixel"],
];

export interface CentreContext {
  /** Columns and rows of the stored frame. */
  readonly width: number;
  readonly height: number;
  /** Stored rows run along x. */
  readonly transpose: boolean;
  /** Pitch along physical x and y, m. */
  readonly pixelSize: readonly [number, number] | undefined;
}

export interface FoundCentre {
  readonly centre?: Sourced<readonly [number, number]>;
  readonly notes: readonly string[];
}

/**
 * The recorded beam centre in array coordinates (column, row). NXsas calls it a length, NXdetector either by its unit,
 * and files often give none: then it is in pixels if that reading lies on the frame, a length if only that does.
 * Its origin is defined nowhere, so it is a start value, good to about a pixel.
 */
export function findCentre(
  tree: Tree,
  detector: TreeGroup | undefined,
  context: CentreContext,
  out: MetadataCollector,
): FoundCentre {
  if (detector === undefined) return { notes: [] };
  let centre: Sourced<readonly [number, number]> | undefined;
  const notes: string[] = [];
  for (const [nameX, nameY] of NAMES) {
    const x = numberField(tree, detector, nameX);
    const y = numberField(tree, detector, nameY);
    if (x === undefined || y === undefined) {
      const lone = x ?? y;
      if (lone !== undefined)
        out.warnings.push(`${lone.path} stands alone: the other coordinate of the beam centre is missing`);
      continue;
    }
    const found = understand(x, y, nameX.endsWith("_pixel"), context);
    if (found.centre === undefined || centre !== undefined) {
      out.show("beamCentre", {
        value: [x.values[0]!, y.values[0]!],
        from: `${x.path}, ${nameY}`,
        asWritten: `${x.asWritten}, ${y.asWritten}`,
        ...(found.why !== undefined && { note: found.why }),
      });
      if (found.centre === undefined) out.warnings.push(`beam centre ${x.path} is not taken: ${found.why}`);
      continue;
    }
    const [column, row] = context.transpose ? [found.centre[1], found.centre[0]] : found.centre;
    centre = {
      value: [column, row],
      from: `${x.path}, ${nameY}`,
      asWritten: `${x.asWritten}, ${y.asWritten}`,
      ...(found.guessed && { guessed: true }),
      ...(found.why !== undefined && { note: found.why }),
    };
    const swapped = swapNote(column, row, context);
    if (swapped !== undefined) notes.push(swapped);
  }
  return centre === undefined ? { notes } : { centre, notes };
}

interface Reading {
  /** Along physical x and y, pixels. */
  readonly centre: readonly [number, number] | undefined;
  readonly guessed: boolean;
  readonly why?: string;
}

function understand(x: Field, y: Field, isPixelTwin: boolean, context: CentreContext): Reading {
  const values = [x.values[0]!, y.values[0]!] as const;
  if (!values.every(Number.isFinite)) return { centre: undefined, guessed: false, why: "it is not a number" };
  const unit = x.unit ?? "";
  if (isPixelTwin || (unit !== "" && unitFactor("pixel", unit) !== undefined))
    return { centre: values, guessed: false };
  const { pixelSize } = context;
  if (unit !== "") {
    const factor = unitFactor("length", unit);
    if (factor === undefined)
      return { centre: undefined, guessed: false, why: `unit "${unit}" is neither pixels nor a length` };
    if (pixelSize === undefined)
      return { centre: undefined, guessed: false, why: `it is a length (${unit}) and the pixel size is not known` };
    return { centre: inPixels(values, factor, pixelSize), guessed: false, why: `a length, divided by the pixel size` };
  }
  const isPixels = isPlausible(values, context);
  const lengths =
    pixelSize === undefined
      ? []
      : [1, 1e-3].map((factor) => inPixels(values, factor, pixelSize)).filter((c) => isPlausible(c, context));
  if (isPixels) {
    const doubt = lengths.length > 0 ? ", though a length would lie on it too" : "";
    return { centre: values, guessed: true, why: `no unit: taken as pixels, since it lies on the frame${doubt}` };
  }
  if (lengths.length === 1 && lengths[0] !== undefined)
    return { centre: lengths[0], guessed: true, why: "no unit: taken as a length, since only that lies on the frame" };
  return {
    centre: undefined,
    guessed: false,
    why: "no unit, and neither pixels nor a length is clearly meant: give beamCentre_px",
  };
}

function inPixels(
  values: readonly [number, number],
  factor: number,
  size: readonly [number, number],
): readonly [number, number] {
  return [(values[0] * factor) / size[0], (values[1] * factor) / size[1]];
}

/** On the frame or near it, and not in the first pixel: numbers below 1 in both are lengths in metres, not pixels. */
function isPlausible(centre: readonly [number, number], context: CentreContext): boolean {
  const [nx, ny] = context.transpose ? [context.height, context.width] : [context.width, context.height];
  const isFirstPixel = Math.abs(centre[0]) < 1 && Math.abs(centre[1]) < 1;
  return isNear(centre[0], nx) && isNear(centre[1], ny) && !isFirstPixel;
}

function isNear(value: number, length: number): boolean {
  return value >= -MARGIN * length && value <= (1 + MARGIN) * length;
}

function swapNote(column: number, row: number, { width, height }: CentreContext): string | undefined {
  const inside = (c: number, r: number): boolean => c >= -0.5 && c < width && r >= -0.5 && r < height;
  if (inside(column, row) || !inside(row, column)) return undefined;
  return `the beam centre (${column}, ${row}) lies off the frame of ${width} x ${height}, but (${row}, ${column}) lies on it: perhaps the frame is stored with x along its rows; try "transpose"`;
}
