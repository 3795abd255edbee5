import { scaleLinear } from "d3-scale";
import { bankPlane } from "../../geometry/bank-plane.ts";
import { qOfPosition } from "../../geometry/maps.ts";
import { planePosition } from "../../geometry/pixel-position.ts";
import type { Geometry } from "../../model/geometry.ts";

export interface QRing {
  readonly q: number;
  /** Outline in array coordinates, from the +x direction of the array. */
  readonly points: readonly { readonly x: number; readonly y: number }[];
}

const DIRECTIONS = 180;
const HALVINGS = 40;

/** A few rings of equal Q at round values, out to the farthest corner; drawn right on a tilted bank too. */
export function qRings(geometry: Geometry, wanted = 3): readonly QRing[] {
  const { width, height, beamCentre, wavelength } = geometry;
  const plane = bankPlane(geometry);
  const qAt: QAt = (along, up) =>
    qOfPosition(planePosition(plane, beamCentre.x + along, beamCentre.y + up), wavelength);

  const acrossReach = Math.max(beamCentre.x + 0.5, width - 0.5 - beamCentre.x);
  const upReach = Math.max(beamCentre.y + 0.5, height - 0.5 - beamCentre.y);
  const reach = Math.hypot(acrossReach, upReach);
  const edge = Math.max(qAt(reach, 0), qAt(0, reach));
  return scaleLinear()
    .domain([0, edge * 0.9])
    .ticks(wanted)
    .filter((q) => q > 0)
    .map((q) => ({
      q,
      points: outline(q, 2 * reach, qAt).map(({ x, y }) => ({ x: beamCentre.x + x, y: beamCentre.y + y })),
    }))
    .filter(({ points }) => points.length > 0);
}

/** Q at a place relative to the beam centre, in pixels. */
type QAt = (x: number, y: number) => number;

/** Points of a ring about the origin, by halving along each direction: Q grows with the distance from the centre. */
function outline(q: number, reach: number, qAt: QAt): QRing["points"] {
  const points: { readonly x: number; readonly y: number }[] = [];
  for (let d = 0; d < DIRECTIONS; d++) {
    const angle = (d * 2 * Math.PI) / DIRECTIONS;
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    let [inside, outside] = [0, reach];
    if (qAt(outside * cos, outside * sin) < q) return [];
    for (let i = 0; i < HALVINGS; i++) {
      const middle = (inside + outside) / 2;
      if (qAt(middle * cos, middle * sin) < q) inside = middle;
      else outside = middle;
    }
    points.push({ x: outside * cos, y: outside * sin });
  }
  return points;
}
