import type { Collimation, Geometry } from "../model/geometry.ts";
import { qAt } from "./maps.ts";
import { qMinBeyondStop, qRange } from "./q-range.ts";
import { type QResolution, qResolution } from "./resolution.ts";
import { GAUSSIAN_FULL_WIDTH } from "./wavelength-spread.ts";

/** A camera as it could be set: the bank square to the beam, the stop centred on it. */
export interface CameraSetting {
  readonly geometry: Geometry;
  /** What isn't known leaves out what depends on it. */
  readonly collimation: Collimation;
  /** Radius of the beam stop's shadow on the bank, m; 0: no stop. */
  readonly stopRadius: number;
}

/** What a setting sees. Q and its standard deviations in 1/angstrom. */
export interface CameraReach {
  /** Lowest usable Q: the largest of those that follow. */
  readonly qMin: number;
  readonly limit: "stop" | "resolution" | "bank";
  /** At the rim of the stop's shadow. */
  readonly qStop: number;
  /** Where Q is one full width at half maximum of its own resolution; undefined: not known, or nowhere. */
  readonly qResolved: number | undefined;
  /** At the point of the bank nearest to the beam; 0 where the beam falls on the bank. */
  readonly qNearest: number;
  /** Largest Q whose whole ring lies on the bank; undefined where the beam falls beside it. */
  readonly qEdge: number | undefined;
  readonly qCorner: number;
  /** Standard deviation at the lowest Q, at the edge and at the corner; undefined: not known. */
  readonly sigmaAtMin: number | undefined;
  readonly sigmaAtEdge: number | undefined;
  readonly sigmaAtCorner: number | undefined;
}

/**
 * Which Q a camera reaches, were it set like this.
 * @throws RangeError on a distance, wavelength or pixel that isn't > 0, a stop that isn't >= 0, and a tilted bank
 */
export function cameraReach({ geometry, collimation, stopRadius }: CameraSetting): CameraReach {
  const { distance, wavelength, pixelSizeX, pixelSizeY, width, height, beamCentre, tilt } = geometry;
  if (!(distance > 0 && wavelength > 0 && pixelSizeX > 0 && pixelSizeY > 0))
    throw new RangeError(
      `a camera needs distance, wavelength and pixels > 0, not ${distance} m, ${wavelength} A, ${pixelSizeX} m`,
    );
  if (!(stopRadius >= 0)) throw new RangeError(`a stop's radius must be >= 0 m, not ${stopRadius}`);
  if (tilt[0] !== 0 || tilt[1] !== 0) throw new RangeError("the reach is told for banks square to the beam");

  const resolution = qResolution(geometry, collimation);
  const sigma = (q: number | undefined): number | undefined =>
    resolution.ok && q !== undefined ? Math.sqrt(resolution.value.variance(q)) : undefined;
  const { edge: qEdge, corner: qCorner } = qRange(geometry);
  const qStop = qMinBeyondStop(geometry, { radius: stopRadius, penumbra: 0, offset: 0 });
  const qResolved = resolution.ok ? lowestResolved(resolution.value, qCorner) : undefined;
  const nearest = { x: within(beamCentre.x, width), y: within(beamCentre.y, height) };
  const qNearest = qAt(geometry, nearest.x, nearest.y);
  const qMin = Math.max(qStop, qResolved ?? 0, qNearest);
  return {
    qMin,
    limit: qMin === qStop ? "stop" : qMin === qResolved ? "resolution" : "bank",
    qStop,
    qResolved,
    qNearest,
    qEdge,
    qCorner,
    sigmaAtMin: sigma(qMin),
    sigmaAtEdge: sigma(qEdge),
    sigmaAtCorner: sigma(qCorner),
  };
}

/** Q = GAUSSIAN_FULL_WIDTH sigma(Q), by repeated insertion: sigma hardly depends on Q but for the share of the wavelength. */
function lowestResolved(resolution: QResolution, most: number): number | undefined {
  let q = 0;
  for (let i = 0; i < 200; i++) {
    const next = GAUSSIAN_FULL_WIDTH * Math.sqrt(resolution.variance(q));
    // Beyond the bank there is nothing to be resolved.
    if (!(next <= most)) return undefined;
    if (Math.abs(next - q) <= 1e-14 * next) return next;
    q = next;
  }
  return q;
}

/** The nearest place on an axis of `length` pixels, whose outer borders lie half a pixel outside. */
function within(centre: number, length: number): number {
  return Math.min(length - 0.5, Math.max(-0.5, centre));
}
