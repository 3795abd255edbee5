import { cos, sin } from "./steady-math.ts";

/** A value with one standard deviation; undefined where none can be given. */
export interface Measured {
  readonly value: number;
  readonly sigma?: number;
}

export interface BeamCentre {
  readonly x: number;
  readonly y: number;
  /** px, one standard deviation. */
  readonly xSigma?: number;
  readonly ySigma?: number;
  readonly method: "given" | "direct-beam" | "symmetry" | "rings";
  /** Where a given centre came from. */
  readonly from: string;
}

/** The stop's shadow on the detector; lengths in px, array coordinates. */
export type StopOutline =
  | {
      readonly shape: "circle";
      readonly x: number;
      readonly y: number;
      readonly radius: number;
      readonly xSigma?: number;
      readonly ySigma?: number;
      readonly radiusSigma?: number;
    }
  | {
      readonly shape: "rectangle";
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
      /** rad, from +x towards +y of the array. */
      readonly turn: number;
      readonly xSigma?: number;
      readonly ySigma?: number;
      readonly widthSigma?: number;
      readonly heightSigma?: number;
      readonly turnSigma?: number;
    };

/** Corners of a rectangular outline, in array coordinates, one after the other around it. */
export function stopCorners(
  stop: Extract<StopOutline, { readonly shape: "rectangle" }>,
): { readonly x: number; readonly y: number }[] {
  const [c, s] = [cos(stop.turn), sin(stop.turn)];
  const signs = [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ] as const;
  return signs.map(([i, j]) => {
    const u = (i * stop.width) / 2;
    const v = (j * stop.height) / 2;
    return { x: stop.x + u * c - v * s, y: stop.y + u * s + v * c };
  });
}
