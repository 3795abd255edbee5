import type { CommonFactor, Estimate, Term } from "../model/estimate.ts";
import type { SourcedMeasure } from "./correction.ts";

/** The term of a role, if the estimate has one. */
export function termOf(estimate: Estimate, role: string): Term | undefined {
  return estimate.terms.find((term) => term.role === role);
}

/** Adds `factor * coefficient` of one more frame; a frame that is there already gets its coefficients combined. */
export function addToTerms(estimate: Estimate, added: Term, factor: number | Float64Array): void {
  const { mask } = estimate;
  const own = termOf(estimate, added.role);
  const coefficient = own === undefined ? new Float64Array(mask.length) : own.coefficient;
  for (let p = 0; p < mask.length; p++)
    if (mask[p] === 0) coefficient[p]! += (typeof factor === "number" ? factor : factor[p]!) * added.coefficient[p]!;
  if (own === undefined) estimate.terms.push({ ...added, coefficient });
}

/** Sum of the signal over unmasked pixels. */
export function signalSum({ terms, mask }: Estimate): number {
  let sum = 0;
  for (const { coefficient, value } of terms)
    for (let p = 0; p < mask.length; p++) if (mask[p] === 0) sum += coefficient[p]! * value[p]!;
  return sum;
}

/**
 * Multiplies the norm of unmasked pixels by a number or a map.
 * @returns the smallest and the largest factor, for the ledger
 * @throws RangeError after the background, which is in the unit that the norm makes
 */
export function multiplyNorm(
  estimate: Estimate,
  factor: number | Float64Array,
): { readonly factorMin?: number; readonly factorMax?: number } {
  const { norm, mask, background } = estimate;
  if (background !== 0) throw new RangeError("the norm can't change after the constant background was set");
  let least = Infinity;
  let most = -Infinity;
  for (let p = 0; p < mask.length; p++) {
    if (mask[p] !== 0) continue;
    const by = typeof factor === "number" ? factor : factor[p]!;
    norm[p]! *= by;
    if (by < least) least = by;
    if (by > most) most = by;
  }
  return least <= most ? { factorMin: least, factorMax: most } : {};
}

/** The empty beam's scatter within a measured factor, which goes with that power of its intensity. */
export function sharedScatter({ openBeam }: SourcedMeasure, power: 1 | -1): Pick<CommonFactor, "shared"> {
  if (openBeam === undefined) return {};
  return { shared: { measurement: openBeam.sum, relativeVariance: openBeam.relativeVariance, power } };
}
