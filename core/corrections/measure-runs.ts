import { cosTwoThetaMap } from "../geometry/maps.ts";
import { solidAngleMap } from "../geometry/solid-angle.ts";
import type { PlanCorrections } from "../model/plan.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { CorrectionContext, MaskInputs, RunInputs, Runs } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { efficiencyRatio } from "./detector-efficiency.ts";
import { CORRECTIONS } from "./index.ts";
import { measureBeams, type OpenBranches } from "./measure-beams.ts";
import { obliquePathFactor } from "./oblique-path.ts";
import { runCorrections } from "./run-corrections.ts";
import { type Sensitivity, sensitivityFromFlood } from "./sensitivity.ts";
import { startEstimate } from "./start-estimate.ts";

/** What the counter itself does to a frame, before anything is known about where its neutrons came from. */
const COUNTER_STEPS = CORRECTIONS.filter(({ key }) => key === "deadTime" || key === "blockedBeam");

/** Everything that corrections need and other runs have to tell: sensitivity, transmissions, direct beam. */
export type Measurements = Pick<CorrectionContext, "sensitivity" | "transmission" | "directBeam">;

/**
 * Evaluates flood and direct-beam runs. They get dead time, blocked beam and (direct beams) sensitivity like any other
 * run, by the same steps.
 */
export function measureRuns(settings: PlanCorrections, runs: Runs, mask: MaskInputs): Result<Measurements> {
  const branches: OpenBranches = {};
  const context: CorrectionContext = { settings, runs, branches, mask };
  if (runs.blockedBeam !== undefined && settings.blockedBeam !== "none") {
    branches.blockedBeam = startEstimate(runs.blockedBeam);
    const done = runCorrections(COUNTER_STEPS, context, ["blockedBeam"]);
    if (!done.ok) return done;
  }
  const sensitivity = measureSensitivity(context, branches);
  if (!sensitivity.ok) return sensitivity;
  const beams = measureBeams({ ...context, ...(sensitivity.value && { sensitivity: sensitivity.value }) }, branches);
  if (!beams.ok) return beams;
  return success({ ...(sensitivity.value && { sensitivity: sensitivity.value }), ...beams.value });
}

/** The sample's mask plays no part: the direct beam falls into the stop's shadow, and a batch shares one sensitivity. */
function measureSensitivity(context: CorrectionContext, branches: OpenBranches): Result<Sensitivity | undefined> {
  const { settings, runs } = context;
  const run = runs.flood;
  if (run === undefined || settings.flood === "none") return success(undefined);
  const estimate = startEstimate(run, runs.blockedBeam?.frame.mask);
  branches.flood = estimate;
  const done = runCorrections(COUNTER_STEPS, context, ["flood"]);
  if (!done.ok) return done;
  const { width, height, terms, mask: own } = estimate;
  const net = new Float64Array(width * height);
  const variance = new Float64Array(width * height);
  for (const term of terms)
    for (let p = 0; p < net.length; p++) {
      const a = term.coefficient[p]!;
      net[p]! += a * term.value[p]!;
      variance[p]! += a * a * term.variance[p]!;
    }
  const expected = evenDetector(settings, run);
  const smooth = settings.flood?.smooth_px ?? CORRECTION_DEFAULTS.floodSmooth_px;
  const sensitivity = sensitivityFromFlood(
    { width, height, net, variance, mask: own, ...(expected && { expected }) },
    smooth,
  );
  if (sensitivity.goodPixels === 0)
    return failure("inconsistent", `${run.file} has no counts: it can't serve as a flood`, {
      file: run.file,
      field: "runs.flood",
    });
  return success(sensitivity);
}

/** What an even detector would count of a flood, pixel by pixel: the very factors that the data get. */
function evenDetector(settings: PlanCorrections, { geometry, metadata }: RunInputs): Float64Array | undefined {
  const method = settings.solidAngle ?? CORRECTION_DEFAULTS.solidAngle;
  // With the solid angle left in the data it must stay in the flood: both or neither.
  if (method === "none") return undefined;
  const expected = solidAngleMap(geometry, method);
  const cosTwoTheta = cosTwoThetaMap(geometry);
  const byAngle: Float64Array[] = [];
  const path = typeof settings.transmission === "object" && settings.transmission.obliquePath === true;
  if (path && metadata.transmission !== undefined)
    byAngle.push(obliquePathFactor(cosTwoTheta, metadata.transmission.value));
  if (typeof settings.detectorAbsorption === "object")
    byAngle.push(efficiencyRatio(cosTwoTheta, settings.detectorAbsorption.opticalDepth));
  for (const factor of byAngle) for (let p = 0; p < expected.length; p++) expected[p]! *= factor[p]!;
  return expected;
}
