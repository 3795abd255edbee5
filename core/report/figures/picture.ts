import type { Orientation } from "../../model/frame.ts";

/** A frame as it stands in the picture: how many pixels across and down, and where each comes from. */
export interface Picture {
  readonly across: number;
  readonly down: number;
  readonly orientation: Orientation;
  readonly width: number;
}

export function pictureOf(
  { width, height }: { readonly width: number; readonly height: number },
  orientation: Orientation,
): Picture {
  const [across, down] = orientation.transpose ? [height, width] : [width, height];
  return { across, down, orientation: { ...orientation }, width };
}

/** Index in the stored array of the pixel in `column` from the left and `line` from the top of the picture. */
export function storedIndex({ down, orientation, width }: Picture, column: number, line: number): number {
  const row = orientation.rowOrder === "bottom-up" ? down - 1 - line : line;
  return orientation.transpose ? column * width + row : row * width + column;
}

/**
 * Array coordinates to the picture's, in pixels from its left and top edge; a pixel's centre lies half a pixel inside.
 */
export function pictureCoordinates(
  { down, orientation }: Picture,
  point: { readonly x: number; readonly y: number },
): { readonly across: number; readonly down: number } {
  const [column, row] = orientation.transpose ? [point.y, point.x] : [point.x, point.y];
  return { across: column + 0.5, down: orientation.rowOrder === "bottom-up" ? down - 0.5 - row : row + 0.5 };
}
