import type { IntensityUnit, Profile } from "../../model/curve.ts";
import { azimuthDegrees } from "../../model/numbers.ts";
import type { AxisSpec } from "./axis.ts";
import { type PointSeries, pointFigure } from "./point-figure.ts";

export interface ProfileSeries {
  readonly label: string;
  readonly profile: Pick<Profile, "phi" | "intensity" | "sigma">;
  readonly colour?: string;
}

export interface ProfileFigureOptions {
  readonly title: string;
  readonly series: readonly ProfileSeries[];
  readonly unit: IntensityUnit;
  /** Absent: linear. */
  readonly yScale?: AxisSpec["scale"];
  readonly notes: readonly string[];
}

const AZIMUTH: AxisSpec = {
  label: "Azimuth",
  unit: "°",
  scale: "linear",
  fixed: { low: 0, high: 360, ticks: [0, 45, 90, 135, 180, 225, 270, 315, 360] },
};

/** I against azimuth with error bars of one standard deviation, as SVG. */
export function profileFigure({ title, series, unit, yScale = "linear", notes }: ProfileFigureOptions): string {
  const points = series.map(({ label, profile, colour }): PointSeries => {
    const { phi, intensity, sigma } = profile;
    return {
      label,
      x: phi.map(azimuthDegrees),
      y: intensity,
      low: intensity.map((value, b) => value - sigma[b]!),
      high: intensity.map((value, b) => value + sigma[b]!),
      ...(colour === undefined ? {} : { colour }),
    };
  });
  const yAxis: AxisSpec = { label: "I", unit, scale: yScale };
  return pointFigure({ title, series: points, xAxis: AZIMUTH, yAxis, notes });
}
