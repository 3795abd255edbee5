import { cosElevationMap, cosTwoThetaMap } from "../geometry/maps.ts";
import { type SolidAngleMethod, solidAngleMap } from "../geometry/solid-angle.ts";
import type { Geometry } from "../model/geometry.ts";
import type { PlanCorrections } from "../model/plan.ts";
import { efficiencyRatio, tubeRatio } from "./detector-efficiency.ts";

/** What a plan says of the detector's own absorption. */
export type DetectorLayer = Exclude<PlanCorrections["detectorAbsorption"], "none" | undefined>;

/**
 * Maps that several corrections of several runs need, each made once a geometry. Shared: nobody may change them.
 * Geometries are told apart by identity, so runs on the same pixels should carry the same object.
 */
export class GeometryMaps {
  readonly #cosines = new WeakMap<Geometry, Float64Array>();
  readonly #absorptions = new WeakMap<Geometry, { readonly of: string; readonly map: Float64Array }>();
  readonly #solidAngles = new WeakMap<Geometry, Map<SolidAngleMethod, Float64Array>>();

  cosTwoTheta(geometry: Geometry): Float64Array {
    const known = this.#cosines.get(geometry);
    if (known !== undefined) return known;
    const map = cosTwoThetaMap(geometry);
    this.#cosines.set(geometry, map);
    return map;
  }

  /** Counts of a detector of this depth and shape over those at normal incidence. */
  detectorAbsorption(geometry: Geometry, { opticalDepth, shape = "flat" }: DetectorLayer): Float64Array {
    const of = `${shape} ${opticalDepth}`;
    const known = this.#absorptions.get(geometry);
    if (known?.of === of) return known.map;
    const cosTwoTheta = this.cosTwoTheta(geometry);
    const map =
      shape === "tubes"
        ? tubeRatio(cosTwoTheta, cosElevationMap(geometry), opticalDepth)
        : efficiencyRatio(cosTwoTheta, opticalDepth);
    this.#absorptions.set(geometry, { of, map });
    return map;
  }

  solidAngle(geometry: Geometry, method: SolidAngleMethod): Float64Array {
    const byMethod = this.#solidAngles.get(geometry) ?? new Map<SolidAngleMethod, Float64Array>();
    this.#solidAngles.set(geometry, byMethod);
    const known = byMethod.get(method);
    if (known !== undefined) return known;
    const map = solidAngleMap(geometry, method);
    byMethod.set(method, map);
    return map;
  }
}
