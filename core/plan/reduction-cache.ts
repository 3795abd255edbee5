import type { QMaps } from "../averaging/average-frame.ts";
import type { GeometryMaps } from "../corrections/geometry-maps.ts";
import type { Measurements } from "../corrections/measure-runs.ts";
import type { Geometry } from "../model/geometry.ts";
import type { BuiltMask } from "./build-mask.ts";
import type { FoundCentre } from "./find-centre.ts";
import type { InputRun, MaskFile } from "./inputs.ts";

/**
 * What a caller that reduces again and again keeps between calls: runs by role and reference, and the stages that
 * search the frame or depend on the geometry alone. A stage is made anew when anything that it depends on is another; runs are read again only from an
 * empty cache, so a caller whose files change takes a new one.
 */
export interface ReductionCache {
  readonly runs: Map<string, InputRun>;
  readonly maskFiles: Map<string, MaskFile>;
  readonly mask: Kept<BuiltMask>;
  readonly centre: Kept<FoundCentre>;
  /** What flood and direct beams tell: the same for every sample of a batch. */
  readonly measured: Kept<Measurements>;
  readonly ground: Kept<GeometryGround>;
}

/** A geometry and what was made of it alone. */
export interface GeometryGround {
  readonly geometry: Geometry;
  readonly qMaps: QMaps;
  readonly maps: GeometryMaps;
}

/** The last value of a stage and what it was made of. */
export interface Kept<T> {
  key?: string;
  value?: T;
}

export function newReductionCache(): ReductionCache {
  return { runs: new Map(), maskFiles: new Map(), mask: {}, centre: {}, measured: {}, ground: {} };
}

export function recall<T>(kept: Kept<T> | undefined, key: string): T | undefined {
  return kept?.key === key ? kept.value : undefined;
}

export function keep<T>(kept: Kept<T> | undefined, key: string, value: T): T {
  if (kept !== undefined) Object.assign(kept, { key, value });
  return value;
}

/** Forgets what the last reduction did not use, so that a cache never holds more than one plan's runs. */
export function keepOnly<T>(map: Map<string, T> | undefined, keys: ReadonlySet<string>): void {
  for (const key of map?.keys() ?? []) if (!keys.has(key)) map?.delete(key);
}
