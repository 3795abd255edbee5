import { CORRECTION_DEFAULTS } from "../corrections/defaults.ts";
import { OUTPUT_KINDS, type OutputKind, type Plan, type PlanAverage, type PlanBeamCentre } from "./plan.ts";

/** What a plan means where it says nothing. Each default that changes a number is written into the ledger. */
export const PLAN_DEFAULTS = {
  beamCentre: { method: "given" },
  corrections: CORRECTION_DEFAULTS,
  averages: [{ id: "radial", kind: "radial" }],
  outputs: OUTPUT_KINDS,
} as const satisfies {
  readonly beamCentre: PlanBeamCentre;
  readonly corrections: typeof CORRECTION_DEFAULTS;
  readonly averages: readonly PlanAverage[];
  readonly outputs: readonly OutputKind[];
};

export function averagesOf(plan: Plan): readonly PlanAverage[] {
  return plan.averages ?? PLAN_DEFAULTS.averages;
}

export function outputsOf(plan: Plan): readonly OutputKind[] {
  return plan.outputs ?? PLAN_DEFAULTS.outputs;
}

export function beamCentreOf(plan: Plan): PlanBeamCentre {
  return plan.beamCentre ?? PLAN_DEFAULTS.beamCentre;
}
