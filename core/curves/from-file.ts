import { failure, type Result, success } from "../model/result.ts";
import type { CurvePoints } from "./curve-points.ts";

/** Columns of a curve as a file gives them: in any order, some sigmas perhaps missing. */
export interface FileColumns extends CurvePoints {
  readonly file: string;
  readonly qUnit: "1/angstrom" | "unknown";
}

/**
 * The points of a curve that was read from a file, in order of Q, for the tools of this folder. Where the file gives
 * sigmas, points without one are left out.
 */
export function pointsFromFile({
  file,
  qUnit,
  q,
  intensity,
  sigma,
  qSigma,
}: FileColumns): Result<{ readonly points: CurvePoints; readonly leftOut: number }> {
  if (qUnit !== "1/angstrom")
    return failure("inconsistent", `${file} does not say which unit its Q has: write it in 1/angstrom`, { file });
  const kept = Array.from(q, (_, i) => i)
    .filter((i) => sigma === undefined || sigma[i]! > 0)
    .sort((a, b) => q[a]! - q[b]! || a - b);
  if (kept.length === 0) return failure("inconsistent", `${file} holds no point with an uncertainty > 0`, { file });
  const pick = (values: Float64Array) => Float64Array.from(kept, (i) => values[i]!);
  const isResolved = qSigma !== undefined && kept.every((i) => Number.isFinite(qSigma[i]!));
  return success({
    points: {
      q: pick(q),
      intensity: pick(intensity),
      ...(sigma && { sigma: pick(sigma) }),
      ...(isResolved && { qSigma: pick(qSigma) }),
    },
    leftOut: q.length - kept.length,
  });
}

/** One name for the spellings of 1/cm; everything else as it is written, and "not known" for nothing. */
export function intensityUnitOf(unit: string): string {
  if (/^\s*(1\s*\/\s*cm|cm\s*\^?\s*(\{-1\}|-1|⁻¹))\s*$/i.test(unit)) return "1/cm";
  return unit.trim() === "" ? "not known" : unit.trim();
}
