import erf from "@stdlib/math-base-special-erf";
import type { SceneStop } from "./scene.ts";

/** Fraction that passes the beam stop at (x, y) in pixel coordinates: 0 well behind it, 1 well outside. */
export type StopTransmission = (x: number, y: number) => number;

/**
 * The stop's shadow on the bank, with edges blurred by a Gaussian: 1 - 0.5 (1 - erf(d/(sqrt 2 s))) with d the distance
 * outside the edge; the two pairs of sides of a rectangle multiply.
 */
export function stopTransmission(
  stop: SceneStop,
  pixelSize_mm: readonly [number, number],
  offset_px: readonly [number, number],
): StopTransmission {
  const [px, py] = pixelSize_mm;
  const [cx, cy] = [stop.at_px[0] + offset_px[0], stop.at_px[1] + offset_px[1]];
  const sigma = stop.edgeBlur_px * px * Math.SQRT2;
  const inside = (distance: number) => 0.5 * (1 + erf(distance / sigma));
  if (stop.shape === "circle") return (x, y) => 1 - inside(stop.radius_mm - Math.hypot((x - cx) * px, (y - cy) * py));
  const turn = (stop.turn_deg * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const between = (at: number, width: number) => inside(width / 2 - at) - inside(-width / 2 - at);
  return (x, y) => {
    const [u, w] = [(x - cx) * px, (y - cy) * py];
    return 1 - between(u * c + w * s, stop.width_mm) * between(w * c - u * s, stop.height_mm);
  };
}
