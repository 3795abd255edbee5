import type { IntensityUnit } from "../model/curve.ts";
import type { LedgerEntry } from "../model/ledger.ts";

/** The unit that follows from what was applied: nothing is divided out without being named. */
export function intensityUnit(steps: readonly LedgerEntry[]): IntensityUnit {
  const entry = (step: string) => steps.find((line) => line.step === step && line.status === "applied");
  if (entry("absolute")) return "1/cm";
  const by = entry("normaliseBy")?.parameters["normaliseBy"];
  const parts = ["counts"];
  if (by === "monitor") parts.push("monitor");
  if (by === "time") parts.push("s");
  if (entry("solidAngle")) parts.push("sr");
  if (entry("thickness")) parts.push("cm");
  return parts.join("/");
}
