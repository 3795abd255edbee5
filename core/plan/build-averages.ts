import { type AverageChoice, averageFrame, type QMaps } from "../averaging/average-frame.ts";
import type { QResolution } from "../geometry/resolution.ts";
import type { Curve, IntensityUnit, Profile } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";
import { type Result, success } from "../model/result.ts";
import { averagesOf } from "./defaults.ts";
import type { Plan, PlanAverage } from "./plan.ts";
import { scatterWarnings } from "./scatter-warnings.ts";

const DEGREE = Math.PI / 180;

export interface BuiltAverages {
  readonly curves: readonly Curve[];
  readonly profiles: readonly Profile[];
  readonly warnings: readonly string[];
}

/** An average of the plan in core's units. */
export function averageChoice(average: PlanAverage): AverageChoice {
  const { id } = average;
  switch (average.kind) {
    case "radial":
      return { id, kind: "radial", bins: average.bins };
    case "sector":
      return {
        id,
        kind: "sector",
        centre: average.centre_deg * DEGREE,
        halfWidth: average.halfWidth_deg * DEGREE,
        mirrored: average.mirrored ?? false,
        bins: average.bins,
      };
    case "annulus":
      return { id, kind: "annulus", qMin: average.qMin, qMax: average.qMax, count: average.count };
    case "box":
      return { id, kind: "box", axis: average.axis, halfWidth: average.halfWidth_1A, bins: average.bins };
  }
}

/** Every average of the plan, in its order. */
export function buildAverages(
  plan: Plan,
  estimate: Estimate,
  {
    geometry,
    maps,
    unit,
    resolution,
  }: {
    readonly geometry: Geometry;
    readonly maps: QMaps;
    readonly unit: IntensityUnit;
    readonly resolution?: QResolution | undefined;
  },
): Result<BuiltAverages> {
  const curves: Curve[] = [];
  const profiles: Profile[] = [];
  for (const [i, average] of averagesOf(plan).entries()) {
    const field = `averages[${i}]`;
    const done = averageFrame(averageChoice(average), estimate, { geometry, maps, unit, resolution, field });
    if (!done.ok) return done;
    if (done.value.kind === "annulus") profiles.push(done.value);
    else curves.push(done.value);
  }
  return success({ curves, profiles, warnings: [...curves, ...profiles].flatMap(scatterWarnings) });
}
