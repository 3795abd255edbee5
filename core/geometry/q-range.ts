import type { Geometry } from "../model/geometry.ts";
import { qAt } from "./maps.ts";
import { qOfRadius } from "./radius-of-q.ts";

/** What a bank sees of Q, 1/angstrom. Sizes in real space are 2 pi / Q. */
export interface QRange {
  /** Largest Q whose whole ring lies on the bank; undefined where the beam centre is not on it. */
  readonly edge?: number;
  /** Largest Q on the bank: its farthest corner. */
  readonly corner: number;
}

/** Q at the nearest edge and at the farthest corner of the bank, taken at the outer borders of the pixels. */
export function qRange(geometry: Geometry): QRange {
  const { width, height, beamCentre } = geometry;
  const [left, right, low, high] = [-0.5, width - 0.5, -0.5, height - 0.5];
  const corners = [
    qAt(geometry, left, low),
    qAt(geometry, right, low),
    qAt(geometry, left, high),
    qAt(geometry, right, high),
  ];
  const corner = Math.max(...corners);
  const { x, y } = beamCentre;
  if (!(x >= left && x <= right && y >= low && y <= high)) return { corner };

  // Along a straight side of a tilted bank Q has its minimum near the foot of the centre, not at it: look at every pixel.
  let edge = Math.min(
    ...[qAt(geometry, x, low), qAt(geometry, x, high), qAt(geometry, left, y), qAt(geometry, right, y)],
  );
  for (let column = 0; column < width; column++)
    edge = Math.min(edge, qAt(geometry, column, low), qAt(geometry, column, high));
  for (let row = 0; row < height; row++) edge = Math.min(edge, qAt(geometry, left, row), qAt(geometry, right, row));
  return { edge, corner };
}

/**
 * Lowest Q that a round beam stop leaves free in one direction, 1/angstrom.
 * @param shadow lengths at the bank, m: the shadow's radius, the width of its penumbra outside that radius, and how far
 * the shadow is displaced from the beam centre (0: the lowest Q once the stop is centred)
 */
export function qMinBeyondStop(
  geometry: Pick<Geometry, "distance" | "wavelength">,
  shadow: { readonly radius: number; readonly penumbra: number; readonly offset: number },
): number {
  return qOfRadius(geometry, Math.max(0, shadow.radius + shadow.penumbra - shadow.offset));
}

/** Size in real space, angstrom, that belongs to Q, 1/angstrom: 2 pi / Q. */
export function sizeOfQ(q: number): number {
  return (2 * Math.PI) / q;
}
