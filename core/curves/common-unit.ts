import { failure, type Result, success } from "../model/result.ts";

/** A curve by the name that a message gives it, and its unit; "not known" where its file gives none. */
export interface NamedUnit {
  readonly name: string;
  readonly unit: string;
}

const UNKNOWN = "not known";

/**
 * The unit of curves that are scaled onto the first. A scale can bring counts onto 1/cm, but then the result is in the
 * first one's unit; two other units must agree.
 */
export function mergedUnit(curves: readonly NamedUnit[]): Result<string> {
  const [first, ...others] = curves;
  const unit = first?.unit ?? UNKNOWN;
  const odd = others.find((curve) => curve.unit !== unit && curve.unit !== UNKNOWN && unit !== UNKNOWN);
  if (odd === undefined || unit === "1/cm") return success(unit);
  const message = `${odd.name} is in ${odd.unit}, ${first?.name} in ${unit}: take the one in 1/cm as the first`;
  return failure("inconsistent", message, { file: odd.name });
}

/** The unit of a difference, whose parts must be in one; an unknown one is taken as the other's. */
export function differenceUnit(curve: NamedUnit, other: NamedUnit): Result<string> {
  const unit = curve.unit === UNKNOWN ? other.unit : curve.unit;
  if (other.unit === unit || other.unit === UNKNOWN) return success(unit);
  const message = `${other.name} is in ${other.unit}, ${curve.name} in ${unit}: give both in one unit`;
  return failure("inconsistent", message, { file: other.name });
}
