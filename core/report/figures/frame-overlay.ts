import type { Geometry } from "../../model/geometry.ts";
import { type StopOutline, stopCorners } from "../../model/measured.ts";
import { readable } from "../../model/numbers.ts";
import { INK } from "./palette.ts";
import { type Picture, pictureCoordinates } from "./picture.ts";
import { type QRing, qRings } from "./q-rings.ts";
import { at, type Box, element, FIGURES, plainText } from "./svg.ts";

interface Overlay {
  readonly geometry: Geometry;
  readonly picture: Picture;
  readonly box: Box;
  readonly outline: StopOutline | undefined;
}

interface Point {
  readonly x: number;
  readonly y: number;
}

const RING_TEXT = 7;
const CROSS = 3;
const ROUND_STEPS = 72;

/** Rings of equal Q with their values, the beam centre as a cross, the outline of the stop. */
export function frameOverlay({ geometry, picture, box, outline }: Overlay): string {
  const place = (point: Point): Point => {
    const { across, down } = pictureCoordinates(picture, point);
    return {
      x: box.left + (across / picture.across) * box.width,
      y: box.top + (down / picture.down) * box.height,
    };
  };
  const centre = place(geometry.beamCentre);
  const rings = qRings(geometry).map((ring) => ringMarkup(ring, box, place));
  const cross = `M${at(centre.x - CROSS)} ${at(centre.y)}h${2 * CROSS}M${at(centre.x)} ${at(centre.y - CROSS)}v${2 * CROSS}`;
  return [
    ...rings,
    outline === undefined
      ? ""
      : element("path", {
          d: outlinePath(stopOutline(outline).map(place)),
          stroke: INK.overlay,
          "stroke-width": 1,
          "stroke-dasharray": "3 1.5",
          fill: "none",
        }),
    element("path", { d: cross, stroke: INK.paper, "stroke-width": 1.6 }),
    element("path", { d: cross, stroke: INK.overlay, "stroke-width": 0.8 }),
  ].join("\n");
}

function outlinePath(points: readonly Point[]): string {
  return `${points.map(({ x, y }, i) => `${i === 0 ? "M" : "L"}${at(x)} ${at(y)}`).join("")}Z`;
}

/** Dark under light, so that a ring is seen on any colour of the scale. */
function ringMarkup({ q, points }: QRing, box: Box, place: (point: Point) => Point): string {
  const placed = points.map(place);
  const d = outlinePath(placed);
  const spot = labelSpot(placed, box);
  const label =
    spot === undefined
      ? ""
      : plainText(
          {
            x: spot.x,
            y: spot.y + RING_TEXT * 0.35,
            "text-anchor": "middle",
            "font-family": FIGURES,
            "font-size": RING_TEXT,
            fill: INK.text,
            stroke: INK.paper,
            "stroke-width": 2,
            "paint-order": "stroke",
            "stroke-linejoin": "round",
          },
          `${readable(q)} 1/Å`,
        );
  return [
    element("path", { d, stroke: INK.text, "stroke-width": 1.4, "stroke-opacity": "0.6", fill: "none" }),
    element("path", { d, stroke: INK.paper, "stroke-width": 0.6, fill: "none" }),
    label,
  ].join("\n");
}

/** The point of the ring nearest to the upper right that leaves room for its value inside the picture. */
function labelSpot(points: readonly Point[], box: Box): Point | undefined {
  const [halfWidth, halfHeight] = [19, 6];
  let best: Point | undefined;
  for (const point of points) {
    const fits =
      point.x - halfWidth > box.left &&
      point.x + halfWidth < box.left + box.width &&
      point.y - halfHeight > box.top &&
      point.y + halfHeight < box.top + box.height;
    if (fits && (best === undefined || point.x - point.y > best.x - best.y)) best = point;
  }
  return best;
}

function stopOutline(stop: StopOutline): readonly Point[] {
  if (stop.shape === "circle") {
    return Array.from({ length: ROUND_STEPS }, (_, i) => {
      const angle = (i * 2 * Math.PI) / ROUND_STEPS;
      return { x: stop.x + stop.radius * Math.cos(angle), y: stop.y + stop.radius * Math.sin(angle) };
    });
  }
  return stopCorners(stop);
}
