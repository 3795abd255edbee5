import { cosTwoThetaMap } from "../geometry/maps.ts";
import { type SolidAngleMethod, solidAngleMap } from "../geometry/solid-angle.ts";
import type { Geometry } from "../model/geometry.ts";

/**
 * Maps that several corrections of several runs need, each made once a geometry. Shared: nobody may change them.
 * Geometries are told apart by identity, so runs on the same pixels should carry the same object.
 */
export class GeometryMaps {
  readonly #cosines = new WeakMap<Geometry, Float64Array>();
  readonly #solidAngles = new WeakMap<Geometry, Map<SolidAngleMethod, Float64Array>>();

  cosTwoTheta(geometry: Geometry): Float64Array {
    const known = this.#cosines.get(geometry);
    if (known !== undefined) return known;
    const map = cosTwoThetaMap(geometry);
    this.#cosines.set(geometry, map);
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
