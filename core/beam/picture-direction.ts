import type { Orientation } from "../model/frame.ts";
import { atan2 } from "../model/steady-math.ts";

/** A step in array coordinates as it is seen in the picture: x to the right, y up. */
export function inPicture({ transpose, rowOrder }: Orientation, dx: number, dy: number): readonly [number, number] {
  const [right, up] = transpose ? [dy, dx] : [dx, dy];
  return [right, rowOrder === "bottom-up" ? up : -up];
}

/** Azimuth in degrees, 0 <= phi < 360, anticlockwise from +x as displayed. */
export function azimuthDegrees(right: number, up: number): number {
  const degrees = (atan2(up, right) * 180) / Math.PI;
  return degrees < 0 ? degrees + 360 : degrees;
}
