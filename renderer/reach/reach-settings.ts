import { type CameraReach, cameraReach } from "../../core/geometry/camera-reach.ts";
import { type QSpan, type Seam, seamsOf } from "../../core/geometry/reach-seams.ts";
import type { Collimation, Geometry } from "../../core/model/geometry.ts";
import type { StopOutline } from "../../core/model/measured.ts";
import { isRecord } from "../state/is-record.ts";
import type { ReductionView } from "../worker/protocol.ts";

/** One way to set the camera, in the units of the screen. */
export interface ReachRow {
  readonly distance_m: number;
  readonly wavelength_A: number;
  /** Of the shadow on the bank; 0: no stop. */
  readonly stopRadius_mm: number;
  readonly collimation_m: number | undefined;
  readonly sourceAperture_mm: number | undefined;
  readonly centreX_px: number;
  readonly centreY_px: number;
}

/** What all ways have in common. */
export interface ReachBank {
  readonly width_px: number;
  readonly height_px: number;
  readonly pixelX_mm: number;
  readonly pixelY_mm: number;
  readonly sampleAperture_mm: number | undefined;
  /** Full width at half maximum over mean. */
  readonly wavelengthSpread: number | undefined;
}

export interface ReachSettings {
  readonly rows: readonly ReachRow[];
  readonly bank: ReachBank;
}

/** More than a person compares, few enough to be drawn. */
export const MOST_ROWS = 12;

/** Where nothing is open: a bank and a camera of a usual size, to be typed over. */
export const EXAMPLE_SETTINGS: ReachSettings = {
  rows: [
    {
      ...{ distance_m: 4, wavelength_A: 6, stopRadius_mm: 30, collimation_m: 4, sourceAperture_mm: 20 },
      ...{ centreX_px: 63.5, centreY_px: 63.5 },
    },
  ],
  bank: {
    ...{ width_px: 128, height_px: 128, pixelX_mm: 5, pixelY_mm: 5, sampleAperture_mm: 8, wavelengthSpread: 0.1 },
  },
};

type Run = Pick<ReductionView, "geometry" | "collimation" | "beamStop">;

/** The camera as it stood for the run on show. */
export function settingsOfRun({ geometry, collimation, beamStop }: Run): ReachSettings {
  const { sourceAperture, sampleAperture, length, wavelengthSpread } = collimation;
  return {
    rows: [
      {
        distance_m: geometry.distance,
        wavelength_A: geometry.wavelength,
        stopRadius_mm: beamStop === undefined ? 0 : shadowRadius(beamStop, geometry) * 1000,
        collimation_m: length,
        sourceAperture_mm: inMillimetres(sourceAperture),
        centreX_px: geometry.beamCentre.x,
        centreY_px: geometry.beamCentre.y,
      },
    ],
    bank: {
      width_px: geometry.width,
      height_px: geometry.height,
      pixelX_mm: geometry.pixelSizeX * 1000,
      pixelY_mm: geometry.pixelSizeY * 1000,
      sampleAperture_mm: inMillimetres(sampleAperture),
      wavelengthSpread,
    },
  };
}

/** m; of a rectangle the nearest side decides, for there the lowest Q is free. */
function shadowRadius(stop: StopOutline, { pixelSizeX, pixelSizeY }: Geometry): number {
  const pitch = Math.min(pixelSizeX, pixelSizeY);
  return pitch * (stop.shape === "circle" ? stop.radius : Math.min(stop.width, stop.height) / 2);
}

const inMillimetres = (metres: number | undefined): number | undefined =>
  metres === undefined ? undefined : metres * 1000;
const inMetres = (millimetres: number | undefined): number | undefined =>
  millimetres === undefined ? undefined : millimetres / 1000;

/** Rows and bank as core takes them. The bank stands square to the beam. */
export function cameraOf(row: ReachRow, bank: ReachBank): { geometry: Geometry; collimation: Collimation } {
  const known = {
    sourceAperture: inMetres(row.sourceAperture_mm),
    sampleAperture: inMetres(bank.sampleAperture_mm),
    length: row.collimation_m,
    wavelengthSpread: bank.wavelengthSpread,
  };
  return {
    geometry: {
      width: bank.width_px,
      height: bank.height_px,
      pixelSizeX: bank.pixelX_mm / 1000,
      pixelSizeY: bank.pixelY_mm / 1000,
      distance: row.distance_m,
      wavelength: row.wavelength_A,
      beamCentre: { x: row.centreX_px, y: row.centreY_px },
      tilt: [0, 0],
      rowOrder: "bottom-up",
      transpose: false,
    },
    collimation: Object.fromEntries(Object.entries(known).filter(([, value]) => value !== undefined)),
  };
}

export function reachOf(row: ReachRow, bank: ReachBank): CameraReach {
  return cameraReach({ ...cameraOf(row, bank), stopRadius: row.stopRadius_mm / 1000 });
}

/** What a setting sees all around the beam; only a part of each ring where the beam falls beside the bank. */
export function spanOf({ qMin, qEdge, qCorner }: CameraReach): QSpan {
  return { low: qMin, high: qEdge !== undefined && qEdge > qMin ? qEdge : Math.max(qCorner, qMin) };
}

export function seamsOfReaches(reaches: readonly CameraReach[]): readonly Seam[] {
  return seamsOf(reaches.map(spanOf));
}

/** Settings of an earlier session; undefined where they are not whole, for then the run's own are better. */
export function readReachSettings(stored: unknown): ReachSettings | undefined {
  if (!isRecord(stored) || !Array.isArray(stored["rows"]) || !isRecord(stored["bank"])) return undefined;
  const bank = withNumbers(stored["bank"], EXAMPLE_SETTINGS.bank, ["sampleAperture_mm", "wavelengthSpread"]);
  const [example] = EXAMPLE_SETTINGS.rows;
  const rows = stored["rows"]
    .slice(0, MOST_ROWS)
    .map((row) =>
      example === undefined ? undefined : withNumbers(row, example, ["collimation_m", "sourceAperture_mm"]),
    );
  const whole = rows.filter((row) => row !== undefined);
  return bank === undefined || whole.length !== rows.length || whole.length === 0 ? undefined : { rows: whole, bank };
}

/** The numbers that `like` has, each as it may stand in its field; only those of `optional` may be missing. */
function withNumbers<T extends object>(stored: unknown, like: T, optional: readonly (keyof T)[]): T | undefined {
  if (!isRecord(stored)) return undefined;
  const entries: [string, number][] = [];
  for (const key of Object.keys(like)) {
    const value = stored[key];
    if (typeof value === "number" && isAllowed(key, value)) entries.push([key, value]);
    else if (value !== undefined || !optional.includes(key as keyof T)) return undefined;
  }
  return Object.fromEntries(entries) as T;
}

/** Largest side of a bank that is reckoned with, px: the edge is looked at pixel by pixel. */
const MOST_PIXELS = 16_384;

/** What may stand in a field, so that the camera can be reckoned with. */
export function isAllowed(key: string, value: number): boolean {
  if (!Number.isFinite(value)) return false;
  if (key.startsWith("centre")) return true;
  if (key === "stopRadius_mm" || key === "wavelengthSpread") return value >= 0;
  if (key === "width_px" || key === "height_px") return Number.isInteger(value) && value > 0 && value <= MOST_PIXELS;
  return value > 0;
}
