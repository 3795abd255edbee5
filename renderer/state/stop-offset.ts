import type { Geometry } from "../../core/model/geometry.ts";
import type { BeamCentre, StopOutline } from "../../core/plan/reduction.ts";

export interface Displacement {
  readonly value: number;
  readonly sigma: number | undefined;
}

/** Where the stop stands from the beam, as displayed: x to the right, y up, mm. */
export interface StopOffset {
  readonly right_mm: Displacement;
  readonly up_mm: Displacement;
}

const MM = 1e3;

/** Stop minus beam, from array coordinates into the picture: transposed first, then turned over where rows run down. */
export function stopOffset(stop: StopOutline, beam: BeamCentre, geometry: Geometry): StopOffset {
  const along = (step: number, size: number, stopSigma?: number, beamSigma?: number): Displacement => ({
    value: step * size * MM,
    sigma:
      stopSigma === undefined || beamSigma === undefined ? undefined : Math.hypot(stopSigma, beamSigma) * size * MM,
  });
  const x = along(stop.x - beam.x, geometry.pixelSizeX, stop.xSigma, beam.xSigma);
  const y = along(stop.y - beam.y, geometry.pixelSizeY, stop.ySigma, beam.ySigma);
  const [right, up] = geometry.transpose ? [y, x] : [x, y];
  return { right_mm: right, up_mm: geometry.rowOrder === "top-down" ? { ...up, value: -up.value } : up };
}

/** "3.1 mm left and 0.4 mm above", as the picture shows it. */
export function offsetInWords({ right_mm, up_mm }: StopOffset): string {
  const part = ({ value }: Displacement, positive: string, negative: string) =>
    `${Math.abs(value).toFixed(1)} mm ${value < 0 ? negative : positive}`;
  return `${part(right_mm, "right", "left")} and ${part(up_mm, "above", "below")}`;
}
