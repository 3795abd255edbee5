import { OUTPUT_KINDS, type OutputKind, type Plan, type PlanAverage, type PlanBeamCentre } from "./plan.ts";

/** What a plan means where it says nothing. Each default that changes a number is written into the ledger. */
export const PLAN_DEFAULTS = {
  beamCentre: { method: "given" },
  /** Where a monitor count is known; otherwise nothing is normalised and the ledger and a warning say so. */
  normaliseBy: "monitor",
  solidAngle: "exact",
  /** Background that is there with the beam off goes with time (physics: ambient neutrons, gammas, electronics). */
  blockedBeam: { scaleBy: "time" },
  deadTimePer: "pixel",
  /** A transmission is used without the angle-dependent path unless the plan asks for it. */
  obliquePath: false,
  floodSmooth_px: 0,
  averages: [{ id: "radial", kind: "radial" }],
  outputs: OUTPUT_KINDS,
} as const satisfies {
  readonly beamCentre: PlanBeamCentre;
  readonly averages: readonly PlanAverage[];
  readonly outputs: readonly OutputKind[];
  readonly [key: string]: unknown;
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
