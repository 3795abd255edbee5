import { findDirectBeam } from "../beam/centre-of-mass.ts";
import {
  type BeamCircle,
  type BeamCounts,
  beamIntensity,
  relativeVariance,
  sumBeam,
  transmissionRatio,
} from "../beam/transmission.ts";
import type { Estimate } from "../model/estimate.ts";
import type { PlanCorrections, RunRole } from "../model/plan.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { CorrectionContext, RunInputs, Runs, SourcedMeasure } from "./correction.ts";
import { CORRECTIONS } from "./index.ts";
import { requiredNumber } from "./known-number.ts";
import { normalisationOf } from "./normalise.ts";
import { runCorrections } from "./run-corrections.ts";
import { startEstimate } from "./start-estimate.ts";

/** What happens to a direct beam: the counter's own corrections and the sensitivity. */
const BEAM_STEPS = CORRECTIONS.filter(({ key }) => key === "deadTime" || key === "blockedBeam" || key === "flood");

const PARTS = [
  { role: "sample", beam: "sampleTransmission" },
  { role: "emptyCell", beam: "emptyCellTransmission" },
] as const;
type Part = (typeof PARTS)[number];

/** Estimates by role, filled in as runs are evaluated. */
export type OpenBranches = { [role in RunRole]?: Estimate };

/** The empty beam's run and the spot that it makes. */
interface OpenBeam {
  readonly run: RunInputs;
  readonly spot: ReturnType<typeof findDirectBeam>;
}

/** Transmissions, given or measured, and the direct beam of the absolute scale. */
export function measureBeams(
  context: CorrectionContext,
  branches: OpenBranches,
): Result<Pick<CorrectionContext, "transmission" | "directBeam">> {
  const { settings, runs } = context;
  const wantsScale = typeof settings.absolute === "object" && settings.absolute.method === "direct-beam";
  const measured = PARTS.filter((part) => isMeasured(settings, runs, part));
  const transmission: { sample?: SourcedMeasure; emptyCell?: SourcedMeasure } = {};
  for (const part of PARTS) {
    const given = givenTransmission(settings, runs, part);
    if (given !== undefined) transmission[part.role] = given;
  }
  const openRun = runs.emptyBeam;
  if (!wantsScale && measured.length === 0) return success({ transmission });
  if (openRun === undefined)
    return failure("missing", "a direct beam is needed: give runs.emptyBeam", { field: "runs.emptyBeam" });

  const open: OpenBeam = { run: openRun, spot: findDirectBeam(openRun.frame) };
  for (const part of measured) {
    const run = runs[part.beam];
    if (run === undefined)
      return failure("missing", `a measured transmission needs runs.${part.beam}`, { field: `runs.${part.beam}` });
    const found = measureTransmission(context, branches, run, open);
    if (!found.ok) return found;
    transmission[part.role] = found.value;
  }
  if (!wantsScale) return success({ transmission });
  const directBeam = measureScale(context, branches, open);
  return directBeam.ok ? success({ transmission, directBeam: directBeam.value }) : directBeam;
}

function choiceFor({ transmission }: PlanCorrections, { role }: Part): number | "measure" | "none" | undefined {
  return typeof transmission === "object" ? transmission[role] : transmission;
}

/** A number of the plan. One that only a file holds is not used: whether it is of this sample and this wavelength, nobody can tell. */
function givenTransmission(settings: PlanCorrections, runs: Runs, part: Part): SourcedMeasure | undefined {
  const choice = choiceFor(settings, part);
  if (runs[part.role] === undefined) return undefined;
  if (typeof choice === "number") return { value: choice, from: `corrections.transmission.${part.role}` };
  const known = runs[part.role]?.metadata.transmission;
  return choice === undefined && known?.from.startsWith("metadata.")
    ? { value: known.value, from: known.from }
    : undefined;
}

function isMeasured(settings: PlanCorrections, runs: Runs, part: Part): boolean {
  if (runs[part.role] === undefined) return false;
  const choice = choiceFor(settings, part);
  if (choice !== undefined) return choice === "measure";
  const hasRuns = runs[part.beam] !== undefined && runs.emptyBeam !== undefined;
  return hasRuns && givenTransmission(settings, runs, part) === undefined;
}

function measureTransmission(
  context: CorrectionContext,
  branches: OpenBranches,
  run: RunInputs,
  openBeam: OpenBeam,
): Result<SourcedMeasure> {
  const { settings } = context;
  const wanted =
    (typeof settings.transmission === "object" ? settings.transmission.radius_px : undefined) ??
    (typeof settings.absolute === "object" && settings.absolute.method === "direct-beam"
      ? settings.absolute.directBeamRadius_px
      : undefined);
  const circle = beamCircle(context, openBeam, wanted, "corrections.transmission.radius_px");
  if (!circle.ok) return circle;
  const by = beamNormalisation(settings, [run, openBeam.run]);
  const open = beamCounts(context, branches, openBeam.run, { circle: circle.value, by });
  if (!open.ok) return open;
  const through = beamCounts(context, branches, run, { circle: circle.value, by });
  if (!through.ok) return through;
  return success({
    ...transmissionRatio(through.value.counts, open.value.counts),
    from: `measured from runs.${run.role} and runs.emptyBeam`,
    circle: circle.value,
    openBeam: sharedPart(open.value.counts, circle.value, by),
    details: {
      method: "measure",
      normalisedBy: by,
      ...circleDetails(circle.value),
      ...countDetails(run.role, through.value.counts),
      ...countDetails("emptyBeam", open.value.counts),
    },
    warnings: [...new Set([...through.value.warnings, ...open.value.warnings])],
  });
}

function measureScale(context: CorrectionContext, branches: OpenBranches, openBeam: OpenBeam): Result<SourcedMeasure> {
  const { settings, runs } = context;
  const wanted =
    typeof settings.absolute === "object" && settings.absolute.method === "direct-beam"
      ? settings.absolute.directBeamRadius_px
      : undefined;
  const circle = beamCircle(context, openBeam, wanted, "corrections.absolute.directBeamRadius_px");
  if (!circle.ok) return circle;
  const by = normalisationOf(settings, runs);
  const open = beamCounts(context, branches, openBeam.run, {
    circle: circle.value,
    by: by === "time" ? "time" : "monitor",
  });
  if (!open.ok) return open;
  const { counts, warnings } = open.value;
  const unknown = counts.unknownSensitivity / counts.net;
  return success({
    ...beamIntensity(counts),
    from: "measured from runs.emptyBeam",
    circle: circle.value,
    openBeam: sharedPart(counts, circle.value, by),
    details: { ...circleDetails(circle.value), ...countDetails("emptyBeam", counts) },
    warnings:
      unknown > 0
        ? [
            ...warnings,
            `${openBeam.run.file}: ${(100 * unknown).toPrecision(3)} % of the direct beam falls on pixels whose sensitivity the flood does not tell; it is taken as the mean, and its spread is in the uncertainty of the absolute scale`,
          ]
        : warnings,
  });
}

/** The plan's choice; without one the monitor where every run has it, else the time. */
function beamNormalisation({ normaliseBy }: PlanCorrections, runs: readonly RunInputs[]): "monitor" | "time" {
  if (normaliseBy === "monitor" || normaliseBy === "time") return normaliseBy;
  return runs.every(({ metadata }) => metadata.monitorCounts !== undefined) ? "monitor" : "time";
}

/** Around the spot that the empty beam makes; the plan's beam centre where the spot does not stand out. */
function beamCircle(
  { runs }: CorrectionContext,
  { run, spot }: OpenBeam,
  radius: number | undefined,
  field: string,
): Result<BeamCircle> {
  if (spot.ok) return success({ x: spot.value.x, y: spot.value.y, radius: radius ?? spot.value.radius });
  if (radius === undefined)
    return failure(spot.fault.code, `${run.file}: ${spot.fault.message}; or set ${field}`, {
      file: run.file,
      field,
    });
  return success({ ...runs.sample.geometry.beamCentre, radius });
}

function beamCounts(
  context: CorrectionContext,
  branches: OpenBranches,
  run: RunInputs,
  { circle, by }: { readonly circle: BeamCircle; readonly by: "monitor" | "time" },
): Result<{ readonly counts: BeamCounts; readonly warnings: readonly string[] }> {
  const number = requiredNumber(run, by === "monitor" ? "monitorCounts" : "countTime", "a direct beam");
  if (!number.ok) return number;
  const warnings: string[] = [];
  if (run.metadata.attenuation === undefined)
    warnings.push(`${run.file} names no attenuation: taken as 1, no attenuator (metadata.${run.role}.attenuation)`);
  else {
    const attenuation = requiredNumber(run, "attenuation", "a direct beam");
    if (!attenuation.ok) return attenuation;
  }
  let estimate = branches[run.role];
  if (estimate === undefined) {
    estimate = startEstimate(run, context.runs.blockedBeam?.frame.mask);
    branches[run.role] = estimate;
    const done = runCorrections(BEAM_STEPS, { ...context, branches }, [run.role]);
    if (!done.ok) return done;
  }
  const sum = sumBeam(estimate, circle, run.role);
  if (!sum.ok)
    return failure(sum.fault.code, `${run.file}: ${sum.fault.message}`, { file: run.file, field: `runs.${run.role}` });
  if (sum.value.maskedPixels > 0)
    warnings.push(`${run.file}: ${sum.value.maskedPixels} pixels within the direct beam are masked and not counted`);
  const { value } = number.value;
  return success({
    counts: {
      ...sum.value,
      normalisation: value,
      normalisationRelativeVariance: by === "monitor" ? 1 / value : 0,
      attenuation: run.metadata.attenuation?.value ?? 1,
    },
    warnings,
  });
}

function sharedPart(
  counts: BeamCounts,
  { x, y, radius }: BeamCircle,
  by: string,
): NonNullable<SourcedMeasure["openBeam"]> {
  return { relativeVariance: relativeVariance(counts), sum: [x, y, radius, by].join(" ") };
}

function circleDetails({ x, y, radius }: BeamCircle): Record<string, unknown> {
  return { radius_px: radius, centre_px: [x, y] };
}

function countDetails(role: RunRole, counts: BeamCounts): Record<string, unknown> {
  return {
    [`${role}.netCounts`]: counts.net,
    [`${role}.normalisation`]: counts.normalisation,
    [`${role}.attenuation`]: counts.attenuation,
    [`${role}.pixels`]: counts.pixels,
  };
}
