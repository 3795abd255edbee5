import type { PlanAverage } from "../../core/plan/plan.ts";
import { freeAverageId } from "../state/plan-reading.ts";
import type { ReductionView } from "../worker/protocol.ts";

/** A new sector opens this wide to both sides, degrees. */
const HALF_WIDTH_DEG = 15;
/** A new annulus takes this part of the log Q range that the frame covers; a new box is as wide as its start. */
const ANNULUS_PLACE = [0.4, 0.55] as const;

/** A new average in a place where it can be seen and dragged, within the Q range that the frame covers. */
export function newAverage(
  kind: PlanAverage["kind"],
  existing: readonly PlanAverage[],
  reduction: ReductionView,
): PlanAverage {
  const id = freeAverageId(existing, kind);
  const at = (share: number) => round(placeInRange(reduction, share));
  switch (kind) {
    case "radial":
      return { id, kind };
    case "sector":
      return { id, kind, centre_deg: 0, halfWidth_deg: HALF_WIDTH_DEG, mirrored: true };
    case "annulus":
      return { id, kind, qMin: at(ANNULUS_PLACE[0]), qMax: at(ANNULUS_PLACE[1]), count: 72 };
    case "box":
      return { id, kind, axis: "x", halfWidth_1A: at(0) };
  }
}

/** A Q at a share of the way from the lowest to the highest, on a log scale. */
function placeInRange({ curves }: ReductionView, share: number): number {
  const q = curves.find(({ kind, q }) => kind !== "box" && q.length > 1)?.q;
  const low = q?.[0];
  const high = q?.at(-1);
  if (low === undefined || high === undefined || !(low > 0)) return 0.01 * 10 ** share;
  return low * (high / low) ** share;
}

/** Three significant digits: a start for a hand that will change it. */
function round(value: number): number {
  return Number(value.toPrecision(3));
}
