import type { LedgerEntry } from "../model/ledger.ts";
import { readable } from "../model/numbers.ts";
import { oneLine } from "./text.ts";

/** Steps of the ledger in words; a step that isn't listed is shown by its key. */
const STEP_NAMES: Readonly<Record<string, string>> = {
  beamCentre: "beam centre",
  mask: "mask",
  deadTime: "dead time",
  blockedBeam: "blocked beam",
  normaliseBy: "normalisation",
  transmission: "transmission",
  emptyCell: "empty cell",
  solidAngle: "solid angle",
  flood: "detector sensitivity (flood)",
  detectorAbsorption: "detector absorption",
  absolute: "absolute scale",
  thickness: "thickness",
  gravity: "gravity",
  background: "constant background",
  background_1cm: "constant background",
};

export function stepName(step: string): string {
  return STEP_NAMES[step] ?? step;
}

export function appliedSteps(steps: readonly LedgerEntry[]): readonly LedgerEntry[] {
  return steps.filter((step) => step.status === "applied");
}

export function stepsNotApplied(steps: readonly LedgerEntry[]): readonly LedgerEntry[] {
  return steps.filter((step) => step.status === "not applied");
}

/** "flood: no flood run is given" */
export function notAppliedInWords(entry: LedgerEntry): string {
  const name = stepName(entry.step);
  return entry.reason === undefined ? name : `${name}: ${oneLine(entry.reason)}`;
}

/**
 * A parameter's value as text: lists with commas, the parts of an object by name. Numbers are written in full unless
 * `number` says otherwise.
 */
export function parameterText(value: unknown, number: (value: number) => string = String): string {
  if (value === undefined || value === null) return "not known";
  if (typeof value === "string") return oneLine(value);
  if (typeof value === "number") return Number.isFinite(value) ? number(value) : "not known";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.map((part) => parameterText(part, number)).join(", ");
  const parts = Object.entries(value).filter(([, part]) => part !== undefined);
  return parts.map(([key, part]) => `${oneLine(key)} ${parameterText(part, number)}`).join(", ");
}

/** What a step did to the data, in one phrase; empty where nothing was recorded. */
export function effectInWords(effect: LedgerEntry["effect"]): string {
  if (effect === undefined) return "";
  const parts: string[] = [];
  const { factorMin, factorMax, signalBefore, signalAfter, pixelsMasked } = effect;
  if (factorMin !== undefined && factorMax !== undefined) {
    const same = readable(factorMin) === readable(factorMax);
    parts.push(same ? `factor ${readable(factorMin)}` : `factor from ${readable(factorMin)} to ${readable(factorMax)}`);
  }
  if (signalBefore !== undefined && signalAfter !== undefined) {
    parts.push(`signal ${readable(signalBefore)} to ${readable(signalAfter)}`);
  }
  if (pixelsMasked !== undefined) parts.push(`${pixelsMasked} pixels masked`);
  return parts.join("; ");
}
