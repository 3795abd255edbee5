import { countLimits } from "../averaging/count-limits.ts";
import type { Curve, Profile } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import { azimuthDegrees, orNull } from "../model/numbers.ts";
import { commonSigmas, commonUncertainty } from "../plan/common-uncertainty.ts";
import { isProfile } from "./average-table.ts";

/** The part that all points share, which `dI` of the curves does not hold. */
export function commonSummary(estimate: Estimate): Readonly<Record<string, unknown>> {
  const { relativeSigma, factors } = commonUncertainty(estimate);
  return {
    relative: relativeSigma,
    factors: factors.map(({ name, value, relativeSigma: relative, appliesTo }) => ({
      name,
      value: orNull(value),
      sigma: relative === null ? null : Math.abs(value) * relative,
      relative,
      appliesTo,
    })),
  };
}

/** One-sided: the mean is larger once in twenty times where the limit is right. */
const LIMIT_CHANCE = 0.95;

/**
 * Beside the counting uncertainty of each point: its sigma from the scatter between pixels, how many times the counting
 * one that is, what the common factors give, and an upper limit where the sample frame counted nothing.
 */
export function pointUncertainties(average: Curve | Profile, estimate: Estimate): Readonly<Record<string, unknown>> {
  const { intensity, sigma, scatterSigma, counts, norm } = average;
  const common = commonSigmas(average, estimate);
  const list = (value: (b: number) => number | undefined) => Array.from(intensity, (_, b) => orNull(value(b)));
  const place = isProfile(average)
    ? { phi_deg: list((b) => azimuthDegrees(average.phi[b]!)) }
    : { Q_1A: list((b) => average.q[b]) };
  const ratios = list((b) => scatterSigma[b]! / sigma[b]!);
  const relative = list((b) => (common === undefined ? undefined : common[b]! / Math.abs(intensity[b]!)));
  // The sample's counts enter the signal as they are.
  const most = countLimits(0, 1 - 2 * (1 - LIMIT_CHANCE)).upper;
  return {
    commonRelative: { smallest: sorted(relative)[0] ?? null, median: median(relative) },
    scatterOverCounting: { median: median(ratios), largest: sorted(ratios).at(-1) ?? null },
    pointUncertainties: {
      ...place,
      scatterSigma: list((b) => scatterSigma[b]),
      scatterOverCounting: ratios,
      commonSigma: list((b) => common?.[b]),
      upperLimit95: list((b) => (counts[b] === 0 ? intensity[b]! + most / norm[b]! : undefined)),
    },
  };
}

function sorted(values: readonly (number | null)[]): number[] {
  return values.filter((value) => value !== null).sort((a, b) => a - b);
}

function median(values: readonly (number | null)[]): number | null {
  const inOrder = sorted(values);
  return inOrder[Math.floor(inOrder.length / 2)] ?? null;
}
