import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import type { StopOutline } from "../../core/plan/reduction.ts";
import type { ArrayPoint } from "../view-types.ts";

/** What a report says of places on the frame, in array coordinates. */
export interface StopFit {
  readonly outline: StopOutline;
  /** One sigma of the edge, px. */
  readonly penumbra: number;
  /** The beam's foot on the detector; radius undefined: only its centre is known. */
  readonly beam?: ArrayPoint & { readonly radius: number | undefined };
  /** From the beam's rim to the stop's, where they are nearest. */
  readonly margin?: { readonly from: ArrayPoint; readonly to: ArrayPoint; readonly isNegative: boolean };
}

export function stopFitOf({ stop, beam, margin_px }: BeamStopReport): StopFit | undefined {
  if (stop === null) return undefined;
  const place = { x: stop.x_px, y: stop.y_px };
  const outline: StopOutline =
    stop.shape === "circle"
      ? { shape: "circle", ...place, radius: stop.radius_px }
      : {
          shape: "rectangle",
          ...place,
          width: stop.width_px,
          height: stop.height_px,
          turn: (stop.turn_deg * Math.PI) / 180,
        };
  const fit = { outline, penumbra: stop.penumbra_px };
  if (beam === null) return fit;
  const spot = { x: beam.x_px, y: beam.y_px, radius: beam.radius_px ?? undefined };
  if (spot.radius === undefined || margin_px === null) return { ...fit, beam: spot };
  const direction = nearestRim(outline, spot);
  const along = (length: number) => ({ x: spot.x + direction.x * length, y: spot.y + direction.y * length });
  return {
    ...fit,
    beam: spot,
    margin: { from: along(spot.radius), to: along(spot.radius + margin_px), isNegative: margin_px < 0 },
  };
}

/** Unit step towards the nearest place of the outline. */
function nearestRim(outline: StopOutline, { x, y }: ArrayPoint): ArrayPoint {
  const dx = x - outline.x;
  const dy = y - outline.y;
  if (outline.shape === "circle") {
    const r = Math.hypot(dx, dy);
    return r > 0 ? { x: dx / r, y: dy / r } : { x: 1, y: 0 };
  }
  const cos = Math.cos(outline.turn);
  const sin = Math.sin(outline.turn);
  const u = cos * dx + sin * dy;
  const v = cos * dy - sin * dx;
  if (outline.width / 2 - Math.abs(u) < outline.height / 2 - Math.abs(v))
    return u < 0 ? { x: -cos, y: -sin } : { x: cos, y: sin };
  return v < 0 ? { x: sin, y: -cos } : { x: -sin, y: cos };
}

/** The outline moved outwards by `distance` px (inwards where negative). Undefined where nothing is left of it. */
export function grownOutline(outline: StopOutline, distance: number): StopOutline | undefined {
  if (outline.shape === "circle") {
    const radius = outline.radius + distance;
    return radius > 0 ? { ...outline, radius } : undefined;
  }
  const width = outline.width + 2 * distance;
  const height = outline.height + 2 * distance;
  return width > 0 && height > 0 ? { ...outline, width, height } : undefined;
}
