import type { PlanCorrections, RunRole } from "../model/plan.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { CorrectionContext, MaskInputs, RunInputs, Runs } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import type { GeometryMaps } from "./geometry-maps.ts";
import { CORRECTIONS } from "./index.ts";
import { measureBeams, type OpenBranches } from "./measure-beams.ts";
import { obliquePathFactor } from "./oblique-path.ts";
import { runCorrections } from "./run-corrections.ts";
import { type MeasuredSensitivity, sensitivityFromFlood } from "./sensitivity.ts";
import { startEstimate } from "./start-estimate.ts";

/** What the counter itself does to a frame, before anything is known about where its neutrons came from. */
const COUNTER_STEPS = CORRECTIONS.filter(({ key }) => key === "deadTime" || key === "blockedBeam");

/** Everything that corrections need and other runs have to tell: sensitivity, transmissions, direct beam. */
export interface Measurements extends Pick<CorrectionContext, "sensitivity" | "transmission" | "directBeam"> {
  /** Runs that were looked at for it. */
  readonly evaluated: readonly RunRole[];
}

/**
 * Evaluates flood and direct-beam runs. They get dead time, blocked beam and (direct beams) sensitivity like any other
 * run, by the same steps.
 */
export function measureRuns(
  settings: PlanCorrections,
  runs: Runs,
  { mask, maps }: { readonly mask: MaskInputs; readonly maps: GeometryMaps },
): Result<Measurements> {
  const branches: OpenBranches = {};
  const context: CorrectionContext = { settings, runs, branches, mask, maps };
  if (runs.blockedBeam !== undefined && settings.blockedBeam !== "none") {
    branches.blockedBeam = startEstimate(runs.blockedBeam);
    const done = runCorrections(COUNTER_STEPS, context, ["blockedBeam"]);
    if (!done.ok) return done;
  }
  const sensitivity = measureSensitivity(context, branches);
  if (!sensitivity.ok) return sensitivity;
  const beams = measureBeams({ ...context, ...(sensitivity.value && { sensitivity: sensitivity.value }) }, branches);
  if (!beams.ok) return beams;
  return success({
    ...(sensitivity.value && { sensitivity: sensitivity.value }),
    ...beams.value,
    evaluated: Object.keys(branches) as RunRole[],
  });
}

/** The sample's mask plays no part: the direct beam falls into the stop's shadow, and a batch shares one sensitivity. */
function measureSensitivity(
  context: CorrectionContext,
  branches: OpenBranches,
): Result<MeasuredSensitivity | undefined> {
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
  const { factors, expected, warnings } = evenDetector(context, run);
  const smooth = settings.flood?.smooth_px ?? CORRECTION_DEFAULTS.floodSmooth_px;
  const sensitivity = sensitivityFromFlood({ width, height, net, variance, mask: own, expected }, smooth);
  if (sensitivity.goodPixels === 0)
    return failure("inconsistent", `${run.file} has no counts: it can't serve as a flood`, {
      file: run.file,
      field: "runs.flood",
    });
  const { geometry, metadata } = run;
  return success({
    ...sensitivity,
    parameters: { takenOut: factors, distance_m: geometry.distance },
    sources: { distance_m: metadata.distance?.from ?? "as the sample" },
    warnings,
  });
}

interface EvenDetector {
  readonly expected: Float64Array;
  /** By the plan's keys. */
  readonly factors: readonly string[];
  readonly warnings: readonly string[];
}

/** What an even detector would count of a flood, pixel by pixel: the very factors that the data get. */
function evenDetector({ settings, maps }: CorrectionContext, { geometry, metadata, file }: RunInputs): EvenDetector {
  const method = settings.solidAngle ?? CORRECTION_DEFAULTS.solidAngle;
  const cosTwoTheta = maps.cosTwoTheta(geometry);
  // With the solid angle left in the data it must stay in the flood: both or neither. The same holds for each factor by itself.
  const hasSolidAngle = method !== "none";
  const expected = hasSolidAngle
    ? maps.solidAngle(geometry, method).slice()
    : new Float64Array(cosTwoTheta.length).fill(1);
  const factors = hasSolidAngle ? ["solidAngle"] : [];
  const warnings: string[] = [];
  const multiply = (key: string, map: Float64Array): void => {
    factors.push(key);
    for (let p = 0; p < expected.length; p++) expected[p]! *= map[p]!;
  };
  if (typeof settings.transmission === "object" && settings.transmission.obliquePath === true) {
    const own = metadata.transmission?.value;
    if (own !== undefined && own > 0 && own <= 1) multiply("obliquePath", obliquePathFactor(cosTwoTheta, own));
    else
      warnings.push(
        `${file}: the longer path of slanted neutrons in the flood's own sample is left in: metadata.flood.transmission is not known`,
      );
  }
  if (typeof settings.detectorAbsorption === "object")
    multiply("detectorAbsorption", maps.detectorAbsorption(geometry, settings.detectorAbsorption));
  return { expected, factors, warnings };
}
