import type { Curve, Profile } from "../model/curve.ts";
import { type CommonFactor, commonRelativeSigma, commonSigma, type Estimate } from "../model/estimate.ts";
import type { CommonUncertainty } from "../model/ledger.ts";

const APPLIES_TO = { sample: "sample in its cell", emptyCell: "empty cell" } as const;

/** The part of the uncertainty that all points share, by factor: what averaging does not make smaller. */
export function commonUncertainty({ common }: Estimate): CommonUncertainty {
  return {
    relativeSigma: commonRelativeSigma(common) ?? null,
    factors: common.map(({ name, value, relativeSigma, of }: CommonFactor) => ({
      name,
      value,
      relativeSigma: relativeSigma ?? null,
      appliesTo: of === undefined ? "the intensity" : APPLIES_TO[of],
    })),
  };
}

/**
 * One standard deviation of each point from the common factors, in the unit of the intensity: all points of a curve move
 * together by it. The cell that was taken off counts with its own share.
 * @returns undefined where no factor has a sigma
 */
export function commonSigmas({ intensity, cell }: Curve | Profile, estimate: Estimate): Float64Array | undefined {
  if (commonRelativeSigma(estimate.common) === undefined) return undefined;
  return intensity.map(
    (value, b) => commonSigma(estimate.common, { net: value + estimate.background, cell: cell?.[b] ?? 0 })!,
  );
}
