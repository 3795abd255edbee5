import type { IntensityUnit } from "../model/curve.ts";

/**
 * An intensity's unit in NXcanSAS: the definition's list knows 1/cm, and "arbitrary" for everything that isn't absolute;
 * `longName` then says what it is.
 */
export function nexusIntensityUnit(unit: IntensityUnit): { readonly units: string; readonly longName: string } {
  const absolute = unit === "1/cm";
  return { units: absolute ? "1/cm" : "arbitrary", longName: `intensity (${unit})` };
}

/** An intensity's unit in canSAS XML: 1/cm, or "a.u." for everything that isn't absolute. */
export function cansasIntensityUnit(unit: IntensityUnit): string {
  return unit === "1/cm" ? "1/cm" : "a.u.";
}
